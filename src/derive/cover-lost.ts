// A capture whose lost samples are covered for listening: a straight line from the valid sample before to the one behind, silence where
// there is none near. For derivatives only: it invents samples. Any place reads alike, however it is asked for.
import type { Block, FrameSource } from '../base/index.ts';

/** Longer losses become silence: a line over a twentieth of a second is no sound any more. */
const LONGEST_LINE_FRAMES = 2400;

/** `lost`: the samples that stand for "no valid sample". */
export function coverLost(source: Pick<FrameSource, 'info' | 'read'>, lost: readonly number[]) {
  const { lostValue: _, ...info } = source.info;
  return {
    info,
    async read(start: number, frames: number): Promise<Block> {
      const from = Math.max(0, start - LONGEST_LINE_FRAMES - 1);
      const wide = await source.read(from, Math.max(0, start) + frames + LONGEST_LINE_FRAMES + 1 - from);
      for (const plane of wide.planes) coverPlane(plane, lost);
      const skip = Math.min(Math.max(0, start) - from, wide.frames);
      const count = Math.min(frames, wide.frames - skip);
      return { start: from + skip, frames: count, planes: wide.planes.map((p) => p.subarray(skip, skip + count)) };
    },
  };
}

function coverPlane(plane: Int32Array, lost: readonly number[]): void {
  for (let i = 0; i < plane.length; i++) {
    if (!lost.includes(plane[i])) continue;
    let end = i;
    while (end < plane.length && lost.includes(plane[end])) end++;
    coverRun(plane, i, end);
    i = end;
  }
}

/** [from, to) is lost; the samples beside it are valid or outside of what was read. */
function coverRun(plane: Int32Array, from: number, to: number): void {
  const isLine = from > 0 && to < plane.length && to - from <= LONGEST_LINE_FRAMES;
  const [a, b] = [plane[from - 1], plane[to]];
  for (let k = from; k < to; k++) plane[k] = isLine ? Math.round(a + ((b - a) * (k - from + 1)) / (to - from + 1)) : 0;
}

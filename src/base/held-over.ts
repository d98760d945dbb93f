// A recording for those who look at it as sound: where the carrier says "no valid sample", the last valid one stands, so that the code
// of the carrier is not taken for a click, a clipped peak or a code book. For looking only: masters and digests keep the codes.
import { type Block, sliceBlock } from './block.ts';
import type { FrameInfo, FrameSource } from './source.ts';

/** Farther back than this no valid sample is looked for, and silence stands: two frames of a tape. */
const REACH_FRAMES = 4096;

/** Blocks in order, each once. Gives the block itself back where nothing is to be done. */
export class HeldOver {
  readonly #lost: number;
  readonly #last: Int32Array;
  /** frames since the last valid sample, by channel */
  readonly #since: Float64Array;

  constructor({ channels }: FrameInfo, lostValue: number) {
    this.#lost = lostValue;
    this.#last = new Int32Array(channels);
    this.#since = new Float64Array(channels).fill(REACH_FRAMES);
  }

  over(block: Block): Block {
    const planes = block.planes.map((plane, c) => this.#plane(plane, block.frames, c));
    return { ...block, planes };
  }

  #plane(plane: Int32Array, frames: number, channel: number): Int32Array {
    let out = plane;
    let last = this.#last[channel];
    let since = this.#since[channel];
    for (let i = 0; i < frames; i++) {
      const value = plane[i];
      if (value !== this.#lost) {
        last = value;
        since = 0;
        continue;
      }
      if (out === plane) out = plane.slice(0, frames);
      since++;
      out[i] = since > REACH_FRAMES ? 0 : last;
    }
    this.#last[channel] = last;
    this.#since[channel] = since;
    return out;
  }
}

/** The same for a second look at any place. */
export function heldOverLook<T extends Pick<FrameSource, 'info' | 'read'>>(
  source: T,
): Pick<FrameSource, 'info' | 'read'> {
  const { info } = source;
  const { lostValue } = info;
  if (lostValue === undefined) return source;
  return {
    info,
    async read(start, frames) {
      const from = Math.max(0, start - REACH_FRAMES);
      const block = new HeldOver(info, lostValue).over(await source.read(from, start + frames - from));
      const skip = Math.min(start - from, block.frames);
      const planes = block.planes.map((plane) => plane.subarray(skip, block.frames));
      return { start: from + skip, frames: block.frames - skip, planes };
    },
  };
}

/** The whole recording so; the source itself where its carrier has no such code. */
export function heldOverSource(source: FrameSource): FrameSource {
  const { lostValue } = source.info;
  if (lostValue === undefined) return source;
  return {
    ...heldOverLook(source),
    async *blocks({ start = 0, ...options } = {}) {
      // From a little before, because what stands in for a loss may lie before the first frame that is asked for.
      const held = new HeldOver(source.info, lostValue);
      for await (const block of source.blocks({ ...options, start: Math.max(0, start - REACH_FRAMES) })) {
        const seen = held.over(block);
        const skip = Math.max(0, start - seen.start);
        if (skip < seen.frames) yield skip === 0 ? seen : sliceBlock(seen, skip, seen.frames - skip);
      }
    },
  };
}

// What every source of frames can do, so that pure layers can read captures without knowing files. Implemented by media/
// for files and by `memorySource` for samples at hand.
import { type Block, blocksOf } from './block.ts';
import { TapeproofError } from './errors.ts';
import type { Rate } from './rate.ts';
import { type StopSignal, throwIfStopped } from './stop.ts';

export interface FrameInfo {
  /** how messages name the source; a path for files */
  readonly name: string;
  readonly channels: number;
  readonly frames: number;
  readonly rate: Rate;
  /** width of the integers in the blocks: a sample lies in -2^(bits-1) .. 2^(bits-1)-1 */
  readonly bits: number;
  /** Only where the carrier has a code for "no valid sample": the sample that stands for it. It was never a sound. */
  readonly lostValue?: number;
}

export interface FrameSource {
  readonly info: FrameInfo;
  /** Exactly the frames [start, start + frames) that exist; short only at the end of the source. A fresh copy. */
  read(start: number, frames: number): Promise<Block>;
  /** What `read` gives, into planes at hand from index `to` on; returns how many frames. Where it is missing, `readInto` copies. */
  readInto?(start: number, frames: number, planes: readonly Int32Array[], to: number): Promise<number>;
  /** All frames in order, once, from `start`; the planes are reused between blocks. */
  blocks(options?: { blockFrames?: number; start?: number; stop?: StopSignal | undefined }): AsyncIterable<Block>;
}

/** For those who read on and on: no new planes where the source can do without. Frames before the first or after the last are none. */
export async function readInto(
  source: FrameSource,
  start: number,
  frames: number,
  planes: readonly Int32Array[],
  to: number,
): Promise<number> {
  if (source.readInto) return source.readInto(start, frames, planes, to);
  const block = await source.read(start, frames);
  for (const [c, plane] of block.planes.entries()) planes[c].set(plane, to);
  return block.frames;
}

export const DEFAULT_BLOCK_FRAMES = 65_536;

/** Samples at hand as a source. Throws `input` when the planes differ in length. */
export function memorySource(planes: readonly Int32Array[], info: Omit<FrameInfo, 'channels' | 'frames'>): FrameSource {
  const frames = planes[0]?.length ?? 0;
  if (planes.some((plane) => plane.length !== frames)) {
    throw new TapeproofError('input', `${info.name}: channels differ in length`, {
      found: planes.map((p) => p.length).join(', '),
    });
  }
  return {
    info: { ...info, channels: planes.length, frames },
    async read(start, wanted) {
      const from = Math.min(Math.max(0, start), frames);
      const to = Math.max(from, Math.min(frames, start + wanted));
      return { start: from, frames: to - from, planes: planes.map((plane) => plane.slice(from, to)) };
    },
    async *blocks({ blockFrames = DEFAULT_BLOCK_FRAMES, start = 0, stop } = {}) {
      for (const block of blocksOf(
        planes.map((plane) => plane.subarray(start)),
        blockFrames,
      )) {
        throwIfStopped(stop);
        yield { ...block, start: block.start + start };
      }
    },
  };
}

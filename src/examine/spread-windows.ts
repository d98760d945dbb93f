// Windows of fixed length spread evenly over a recording, for questions that a few hundred of them answer: which ones is
// decided by frame numbers alone, so the outcome depends neither on block size nor on chance. Not for finding single events.
import type { Block, FrameInfo } from '../base/index.ts';

/** Gets one window: a plane for each channel, all of the same length. Views: copy what must outlive the call. */
export type WindowVisitor = (planes: readonly Int32Array[], start: number) => void;

/** State with a life: push all blocks in order, then finish once. Memory: one window for each channel. */
export class SpreadWindows {
  /** every how many windows one is taken; 1 = the whole recording */
  readonly stride: number;
  readonly #size: number;
  readonly #visit: WindowVisitor;
  readonly #held: Int32Array[];
  #filled = 0;

  /** At most about `most` windows of `size` frames. The last, shorter window is shown too when it falls to be taken. */
  constructor(info: FrameInfo, size: number, most: number, visit: WindowVisitor) {
    this.#size = size;
    this.#visit = visit;
    this.stride = Math.max(1, Math.ceil(info.frames / size / most));
    this.#held = Array.from({ length: info.channels }, () => new Int32Array(size));
  }

  push(block: Block): void {
    const size = this.#size;
    const period = size * this.stride;
    for (let at = 0; at < block.frames; ) {
      const within = (block.start + at) % period;
      if (within >= size) {
        at += period - within;
        continue;
      }
      const take = Math.min(size - within, block.frames - at);
      if (take === size) this.#show(block.planes, at, size, block.start + at);
      else this.#hold(block, at, take);
      at += take;
    }
  }

  finish(frames: number): void {
    if (this.#filled > 0) this.#show(this.#held, 0, this.#filled, frames - this.#filled);
    this.#filled = 0;
  }

  #hold(block: Block, at: number, take: number): void {
    for (let c = 0; c < this.#held.length; c++) {
      this.#held[c].set(block.planes[c].subarray(at, at + take), this.#filled);
    }
    this.#filled += take;
    if (this.#filled < this.#size) return;
    this.#show(this.#held, 0, this.#size, block.start + at + take - this.#size);
    this.#filled = 0;
  }

  #show(planes: readonly Int32Array[], from: number, length: number, start: number): void {
    this.#visit(
      planes.map((plane) => plane.subarray(from, from + length)),
      start,
    );
  }
}

// How loud one channel is, every 20 ms, as one byte: enough to know at the end of a recording of hours how quiet its sound gets
// without being cut. Every seventh sample is looked at. Not for metering.
import { LOOK_STRIDE, largestLooks } from '../../signal/index.ts';

const WINDOW_SECONDS = 0.02;
/** Steps of a level per doubling. */
export const PER_OCTAVE = 8;

/** 0 for silence, else 1 + PER_OCTAVE x the binary logarithm. */
export function levelOf(sample: number): number {
  return sample === 0 ? 0 : 1 + Math.floor(PER_OCTAVE * Math.log2(Math.abs(sample)));
}

export class LevelTrack {
  readonly windowFrames: number;
  #levels = new Uint8Array(1024);
  #windows = 0;
  /** next frame that is looked at, and the largest sample of the open window */
  #next = 0;
  #largest = 0;
  #frame = 0;

  constructor(rateHz: number) {
    this.windowFrames = Math.max(8 * LOOK_STRIDE, Math.round(WINDOW_SECONDS * rateHz));
  }

  /** Planes in order, without gaps. */
  push(plane: Int32Array): void {
    if (plane.length === 0) return;
    const end = (this.#windows + 1) * this.windowFrames - this.#frame;
    const first = this.#next - this.#frame;
    const looks = largestLooks(plane, first, end, this.windowFrames);
    for (let k = 0; k < looks.length; k++) {
      this.#largest = Math.max(this.#largest, looks[k]);
      if (end + k * this.windowFrames <= plane.length) this.#close();
    }
    this.#next += LOOK_STRIDE * Math.max(0, Math.ceil((plane.length - first) / LOOK_STRIDE));
    this.#frame += plane.length;
  }

  #close(): void {
    if (this.#windows === this.#levels.length) {
      const longer = new Uint8Array(2 * this.#levels.length);
      longer.set(this.#levels);
      this.#levels = longer;
    }
    this.#levels[this.#windows++] = levelOf(this.#largest);
    this.#largest = 0;
  }

  /** Level of the largest sample of each whole window. */
  get levels(): Uint8Array {
    return this.#levels.subarray(0, this.#windows);
  }
}

// First look for repeats in one channel, streaming: a rolling hash of the last few samples finds where they stood before,
// the samples themselves prove it, and the run is followed to its end. Deliberately generous: repeat-judge.ts decides.
import type { Span } from '../../base/index.ts';

/** Shortest lag: below it a repeat is a hold, a tone or a slip (inner-slip). */
export const SHORTEST_LAG = 16;
/** Longest lag: the longest unit of the formats with both heads of a turn, and common buffer sizes. Own choice. */
export const LONGEST_LAG = 8192;
/** Samples that must stand before in the same order to open a run. */
export const WINDOW = 8;
/** Longer runs are tones and loops: no deck fills a second with its memory. Own choice. */
export const LONGEST_COPY = 32_768;

const RING = 2 * LONGEST_LAG;
const MASK = RING - 1;
const SLOT_BITS = 14;
const MULTIPLIER = 0x2c9277b5;
const SPREADER = 0x9e3779b1;
/** A run may have begun while another, shorter one was followed. */
const LONGEST_BACK = 4096;
const MOST_RUNS = 20_000;

/** x[start..start+length) equals the samples `lag` frames before. */
export interface RepeatRun extends Span {
  readonly lag: number;
}

export class RepeatScan {
  readonly #ring = new Int32Array(RING);
  readonly #slots = new Int32Array(1 << SLOT_BITS).fill(-RING);
  readonly #oldest = multiplierPower(WINDOW);
  readonly #isWorthKeeping: (recent: RecentSamples, run: RepeatRun) => boolean;
  #frame = 0;
  #hash = 0;
  #lag = 0;
  #start = 0;
  readonly runs: RepeatRun[] = [];
  /** runs longer than LONGEST_COPY */
  loops = 0;
  /** runs beyond what is kept */
  leftOut = 0;

  /** `isWorthKeeping` sees the last samples of a run that has just ended (at most one lag of them and LONGEST_LAG). */
  constructor(isWorthKeeping: (recent: RecentSamples, run: RepeatRun) => boolean) {
    this.#isWorthKeeping = isWorthKeeping;
  }

  push(plane: Int32Array): void {
    const ring = this.#ring;
    const slots = this.#slots;
    const oldest = this.#oldest;
    let hash = this.#hash;
    let frame = this.#frame;
    let lag = this.#lag;
    for (let i = 0; i < plane.length; i++, frame++) {
      const x = plane[i];
      hash = (Math.imul(hash, MULTIPLIER) + x - Math.imul(ring[(frame - WINDOW) & MASK], oldest)) | 0;
      ring[frame & MASK] = x;
      const slot = Math.imul(hash, SPREADER) >>> (32 - SLOT_BITS);
      const before = slots[slot];
      slots[slot] = frame;
      if (lag > 0) {
        if (ring[(frame - lag) & MASK] === x) continue;
        this.#close(frame, lag);
        lag = 0;
      }
      const found = (frame - before) | 0;
      if (found < SHORTEST_LAG || found > LONGEST_LAG || before < WINDOW - 1) continue;
      if (!isSame(ring, frame, found)) continue;
      lag = found;
      this.#start = startOf(ring, frame, found);
    }
    this.#hash = hash;
    this.#frame = frame;
    this.#lag = lag;
  }

  /** A run that reaches the end of the recording has no sound after it; it is kept all the same. */
  finish(): void {
    if (this.#lag > 0) this.#close(this.#frame, this.#lag);
    this.#lag = 0;
  }

  #close(end: number, lag: number): void {
    const run = { start: this.#start, length: end - this.#start, lag };
    if (run.length > LONGEST_COPY) this.loops++;
    else if (this.#isWorthKeeping({ ring: this.#ring, mask: MASK }, run)) {
      if (this.runs.length < MOST_RUNS) this.runs.push(run);
      else this.leftOut++;
    }
  }
}

/** Frame f lies at ring[f & mask]. */
export interface RecentSamples {
  readonly ring: Int32Array;
  readonly mask: number;
}

function isSame(ring: Int32Array, frame: number, lag: number): boolean {
  for (let k = 0; k < WINDOW; k++) if (ring[(frame - k) & MASK] !== ring[(frame - lag - k) & MASK]) return false;
  return true;
}

function startOf(ring: Int32Array, frame: number, lag: number): number {
  const earliest = Math.max(lag, frame - Math.min(LONGEST_BACK, RING - lag - 1));
  let start = frame - WINDOW + 1;
  while (start > earliest && ring[(start - 1) & MASK] === ring[(start - 1 - lag) & MASK]) start--;
  return start;
}

function multiplierPower(exponent: number): number {
  let power = 1;
  for (let k = 0; k < exponent; k++) power = Math.imul(power, MULTIPLIER);
  return power;
}

// First look, streaming: finds rows of hits on any lattice the formats can make (every sample, every 2nd, 3 of 5 …) that
// are too long for the local roughness of the signal. Deliberately generous: judge.ts decides on the second look.
import type { Span } from '../../base/index.ts';

/**
 * Lattice periods in samples: contiguous lines; one DAT head (2); adaptor flanks (3); DV tracks on 6.35 mm (5, 6) and on
 * 8 mm (15, 18). Sources: formats.md 4.8, 5.6, 6.8.
 */
export const LATTICE_PERIODS = [1, 2, 3, 5, 6, 15, 18] as const;

export interface Candidate extends Span {
  readonly period: number;
  /** natural logarithm of the odds by the generous local chance */
  readonly score: number;
}

const MISS_COST = 4;
const BIGGEST_GAIN = 7;

/** What is kept of a row, in this order: one array of numbers, as each hit touches a row of every period. */
const [SCORE, BEST, START, BEST_END, LAST, FIELDS] = [0, 1, 2, 3, 4, 5];

/** Of every field of a row that has not begun: it is over at the first hit. */
const NEVER = Number.NEGATIVE_INFINITY;

/** Cumulative odds over the hits of one channel; state is one row per period and phase. */
export class LatticeScan {
  readonly #rows: readonly Float64Array[] = LATTICE_PERIODS.map((period) =>
    new Float64Array(FIELDS * period).fill(NEVER),
  );
  readonly #threshold: number;
  readonly #longest: number;
  readonly candidates: Candidate[] = [];

  /** `threshold` in natural log odds; rows longer than `longestFrames` are handed over in parts. */
  constructor(threshold: number, longestFrames: number) {
    this.#threshold = threshold;
    this.#longest = longestFrames;
  }

  /** What one hit adds, from its probability by chance hereabouts, 0..1; where that is too near to 1, hits are none. */
  static gainOf(chance: number): number {
    return Math.max(0, Math.min(BIGGEST_GAIN, Math.log(0.98 / chance)));
  }

  /** The first `count` of the given hits, in ascending order and after those before; each adds more than nothing. */
  push(frames: Int32Array, gains: Float64Array, count: number): void {
    if (count === 0) return;
    // One lattice after the other: its rows stay at hand.
    for (const [p, period] of LATTICE_PERIODS.entries()) this.#pushTo(this.#rows[p], period, frames, gains, count);
  }

  #pushTo(rows: Float64Array, period: number, frames: Int32Array, gains: Float64Array, count: number): void {
    const [longest, threshold] = [this.#longest, this.#threshold];
    for (let k = 0; k < count; k++) {
      const frame = frames[k];
      const row = FIELDS * (frame % period);
      // As few branches as can be: which rows end is as good as random, and a wrong guess costs more than the arithmetic.
      const left = rows[row + SCORE] - ((frame - rows[row + LAST]) / period - 1) * MISS_COST;
      const goesOn = left > 0 && rows[row + BEST] - left <= 3 * MISS_COST && frame - rows[row + START] <= longest;
      if (!goesOn) {
        if (rows[row + BEST] >= threshold) this.#handOver(rows, row, period);
        rows[row + BEST] = 0;
        rows[row + START] = frame;
      }
      const score = (goesOn ? left : 0) + gains[k];
      rows[row + SCORE] = score;
      rows[row + LAST] = frame;
      if (score > rows[row + BEST]) {
        rows[row + BEST] = score;
        rows[row + BEST_END] = frame + 1;
      }
    }
  }

  finish(): void {
    for (const [p, rows] of this.#rows.entries()) {
      for (let row = 0; row < rows.length; row += FIELDS) {
        if (rows[row + BEST] >= this.#threshold) this.#handOver(rows, row, LATTICE_PERIODS[p]);
        rows[row + BEST] = 0;
      }
    }
  }

  #handOver(rows: Float64Array, row: number, period: number): void {
    const start = rows[row + START];
    this.candidates.push({ start, length: rows[row + BEST_END] - start, period, score: rows[row + BEST] });
  }
}

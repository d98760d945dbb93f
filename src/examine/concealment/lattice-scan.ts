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

/** Frames after which all lattices stand as they stood: the least common multiple of the periods. */
const CYCLE = 90;
/** Cumulative odds over the hits of one channel; state is one row per period and phase. */
export class LatticeScan {
  /** where the row of a frame begins, by the frame's place in the cycle and the period's number */
  readonly #rowOf: Uint16Array;
  readonly #periods = Int32Array.from(LATTICE_PERIODS);
  readonly #rows = new Float64Array(FIELDS * LATTICE_PERIODS.reduce((sum, period) => sum + period, 0));
  readonly #threshold: number;
  readonly #longest: number;
  readonly candidates: Candidate[] = [];

  /** `threshold` in natural log odds; rows longer than `longestFrames` are handed over in parts. */
  constructor(threshold: number, longestFrames: number) {
    this.#threshold = threshold;
    this.#longest = longestFrames;
    this.#rowOf = Uint16Array.from({ length: CYCLE * LATTICE_PERIODS.length }, (_, k) => {
      const p = k % LATTICE_PERIODS.length;
      const phase = Math.floor(k / LATTICE_PERIODS.length) % LATTICE_PERIODS[p];
      return FIELDS * (LATTICE_PERIODS.slice(0, p).reduce((sum, period) => sum + period, 0) + phase);
    });
  }

  /** What one hit adds, from its probability by chance hereabouts, 0..1; where that is too near to 1, hits are none. */
  static gainOf(chance: number): number {
    return Math.max(0, Math.min(BIGGEST_GAIN, Math.log(0.98 / chance)));
  }

  /** Hits come in ascending order. */
  hit(frame: number, gain: number): void {
    if (gain === 0) return;
    const [rows, rowOf, periods] = [this.#rows, this.#rowOf, this.#periods];
    const first = (frame % CYCLE) * periods.length;
    for (let p = 0; p < periods.length; p++) {
      const period = periods[p];
      const row = rowOf[first + p];
      let score = rows[row + SCORE];
      if (score > 0) {
        const gap = frame - rows[row + LAST];
        if (gap !== period) {
          score -= (gap / period - 1) * MISS_COST;
          rows[row + SCORE] = score;
        }
        const isOver =
          score <= 0 || rows[row + BEST] - score > 3 * MISS_COST || frame - rows[row + START] > this.#longest;
        if (isOver) {
          this.#close(row, period);
          score = 0;
        }
      }
      if (score <= 0) {
        score = 0;
        rows[row + BEST] = 0;
        rows[row + START] = frame;
      }
      score += gain;
      rows[row + SCORE] = score;
      rows[row + LAST] = frame;
      if (score > rows[row + BEST]) {
        rows[row + BEST] = score;
        rows[row + BEST_END] = frame + 1;
      }
    }
  }

  finish(): void {
    for (const [p, period] of LATTICE_PERIODS.entries()) {
      for (let phase = 0; phase < period; phase++) this.#close(this.#rowOf[phase * LATTICE_PERIODS.length + p], period);
    }
  }

  #close(row: number, period: number): void {
    const rows = this.#rows;
    const [start, score] = [rows[row + START], rows[row + BEST]];
    if (score > 0 && score >= this.#threshold) {
      this.candidates.push({ start, length: rows[row + BEST_END] - start, period, score });
    }
    rows[row + SCORE] = 0;
    rows[row + BEST] = 0;
  }
}

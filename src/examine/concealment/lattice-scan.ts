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

interface Row {
  score: number;
  best: number;
  start: number;
  bestEnd: number;
  last: number;
}

/** Cumulative odds over the hits of one channel; state is one row per period and phase. */
export class LatticeScan {
  readonly #rows: Row[][];
  readonly #threshold: number;
  readonly #longest: number;
  readonly candidates: Candidate[] = [];

  /** `threshold` in natural log odds; rows longer than `longestFrames` are handed over in parts. */
  constructor(threshold: number, longestFrames: number) {
    this.#threshold = threshold;
    this.#longest = longestFrames;
    this.#rows = LATTICE_PERIODS.map((period) =>
      Array.from({ length: period }, () => ({ score: 0, best: 0, start: 0, bestEnd: 0, last: -1 })),
    );
  }

  /** `chance` is the local probability of a hit by chance, 0..1. Hits come in ascending order. */
  hit(frame: number, chance: number): void {
    const gain = Math.min(BIGGEST_GAIN, Math.log(0.98 / chance));
    if (!(gain > 0)) return;
    for (let p = 0; p < LATTICE_PERIODS.length; p++) {
      const period = LATTICE_PERIODS[p];
      const row = this.#rows[p][frame % period];
      if (row.score > 0) {
        row.score -= ((frame - row.last) / period - 1) * MISS_COST;
        const isOver = row.score <= 0 || row.best - row.score > 3 * MISS_COST || frame - row.start > this.#longest;
        if (isOver) this.#close(row, period);
      }
      if (row.score <= 0) {
        row.score = 0;
        row.best = 0;
        row.start = frame;
      }
      row.score += gain;
      row.last = frame;
      if (row.score > row.best) {
        row.best = row.score;
        row.bestEnd = frame + 1;
      }
    }
  }

  finish(): void {
    for (let p = 0; p < LATTICE_PERIODS.length; p++) {
      for (const row of this.#rows[p]) this.#close(row, LATTICE_PERIODS[p]);
    }
  }

  #close(row: Row, period: number): void {
    if (row.score > 0 || row.best > 0) {
      if (row.best >= this.#threshold) {
        this.candidates.push({ start: row.start, length: row.bestEnd - row.start, period, score: row.best });
      }
    }
    row.score = 0;
    row.best = 0;
  }
}

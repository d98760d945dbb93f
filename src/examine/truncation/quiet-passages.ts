// Passages within a few steps of one level: what triangular dither looks like there, and what it never looks like. Dither of two steps
// peak to peak over nothing gives the three levels 1/8, 3/4, 1/8 (other shares with an offset), each sample by itself; without dither quiet
// sound rests on levels other than its end for long. In between nobody can tell.

import type { WindowFacts } from '../../signal/index.ts';

export interface QuietAnswer {
  readonly answer: 'triangular' | 'none' | undefined;
  readonly chance: number;
  readonly windows: number;
  readonly restingRuns: number;
  /** share of the levels -2 .. 2 around the commonest, in the windows judged for dither */
  readonly spread: readonly number[];
}

const NEAR = 8;
/** samples on one level; triangular dither keeps a level for one more sample with at most 3/4 */
const REST = 48;
const FEWEST_RUNS = 10;

export class QuietPassages {
  readonly shift: number;
  #windows = 0;
  #runs = 0;
  readonly #restLevels = new Set<number>();
  readonly #counts = new Float64Array(5);
  #pairs = 0;
  #product = 0;
  #flat = 0;

  constructor(shift: number) {
    this.shift = shift;
  }

  push(plane: Int32Array, { min, max }: WindowFacts): void {
    const low = min >> this.shift;
    const high = max >> this.shift;
    if (high === low || high - low > NEAR || Math.abs(low) > 64) return;
    this.#windows++;
    this.#countRuns(plane);
    if (high - low <= 2) this.#countLevels(plane, low + 1);
    else this.#flat++;
  }

  /** Levels that stay for REST samples between moves; zero is left out, for gates and mutes rest there. */
  #countRuns(plane: Int32Array): void {
    let run = 1;
    for (let i = 1; i < plane.length; i++) {
      if (plane[i] === plane[i - 1]) {
        run++;
        continue;
      }
      const level = plane[i - 1] >> this.shift;
      if (run >= REST && level !== 0) {
        this.#runs++;
        this.#restLevels.add(level);
      }
      run = 1;
    }
  }

  #countLevels(plane: Int32Array, middle: number): void {
    for (let i = 0; i < plane.length; i++) {
      const deviation = (plane[i] >> this.shift) - middle;
      this.#counts[deviation + 2]++;
      if (i === 0) continue;
      this.#product += deviation * ((plane[i - 1] >> this.shift) - middle);
      this.#pairs++;
    }
  }

  answer(): QuietAnswer {
    const total = this.#counts.reduce((a, b) => a + b, 0);
    const spread = Array.from(this.#counts, (count) => (total > 0 ? Number((count / total).toFixed(4)) : 0));
    const base = { windows: this.#windows, restingRuns: this.#runs, spread };
    // Under triangular dither a run this long comes with 0.75^48, about 1e-6, at each of its places.
    if (this.#runs >= FEWEST_RUNS && this.#restLevels.size >= 2) return { ...base, answer: 'none', chance: 1e-12 };
    if (this.#runs === 0 && this.#isTriangular(total)) return { ...base, answer: 'triangular', chance: 1e-7 };
    return { ...base, answer: undefined, chance: 1 };
  }

  /** The shares of triangular dither at some offset, within what so many samples scatter, and no sample telling of the next. */
  #isTriangular(total: number): boolean {
    if (total < 20_000 || this.#flat > 0) return false;
    const [, below, at, above] = Array.from(this.#counts, (count) => count / total);
    const mean = above - below;
    const scatter = 4.5 / Math.sqrt(total);
    // With offset d the outer levels hold (1/2 + d)^2 / 2 and (1/2 - d)^2 / 2, so their mean is d.
    const expected = [(0.5 - mean) ** 2 / 2, 0.75 - mean ** 2, (0.5 + mean) ** 2 / 2];
    const fits = [below, at, above].every(
      (share, n) => Math.abs(share - expected[n]) < scatter * Math.sqrt(share) + 1e-9,
    );
    const correlation = this.#product / this.#pairs - mean * mean;
    return Math.abs(mean) <= 0.5 && fits && Math.abs(correlation) < scatter * 0.25;
  }
}

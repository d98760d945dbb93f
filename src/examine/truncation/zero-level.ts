// How many loud samples stand at level zero against the levels beside it: twice as many after rounding toward zero, where everything
// between -1 and 1 becomes 0. Only windows of sound far larger than a step count, so that zero is a level like any other.

import type { WindowFacts } from '../../signal/index.ts';

export interface ZeroAnswer {
  readonly atZero: number;
  readonly expected: number;
  readonly ratio: number;
  /** that a level of the expected share holds so many, when the ratio is near two; 1 when it is not */
  readonly chance: number;
}

const REACH = 6;
const LOUD_STEPS = 40;

/** Levels are samples shifted right by `shift`, which must leave nothing behind. */
export class ZeroLevel {
  readonly shift: number;
  /** levels -6 .. 6 */
  readonly #counts = new Float64Array(2 * REACH + 1);

  constructor(shift: number) {
    this.shift = shift;
  }

  push(plane: Int32Array, { samples, magnitudes, repeats }: WindowFacts): void {
    if (magnitudes < LOUD_STEPS * 2 ** this.shift * samples) return;
    // Mutes, gates and clipped sound rest on a level.
    if (repeats > samples / 20) return;
    for (let i = 0; i < plane.length; i++) {
      const at = (plane[i] >> this.shift) + REACH;
      if (at >= 0 && at < this.#counts.length) this.#counts[at]++;
    }
  }

  answer(): ZeroAnswer {
    const atZero = this.#counts[REACH];
    let beside = 0;
    for (let v = 1; v <= REACH; v++) beside += this.#counts[REACH + v] + this.#counts[REACH - v];
    const expected = beside / (2 * REACH);
    const ratio = expected > 0 ? atZero / expected : 0;
    return { atZero, expected, ratio, chance: this.#chance(atZero, expected, ratio) };
  }

  /** Against a level a quarter wider than its neighbours, which a converter's fault at zero might make: Chernoff's bound of Poisson's tail. */
  #chance(atZero: number, expected: number, ratio: number): number {
    if (ratio < 1.7 || ratio > 2.4 || this.#hasHoles(expected)) return 1;
    const mean = 1.25 * expected;
    return Math.exp(-(atZero * Math.log(atZero / mean) - (atZero - mean)));
  }

  /** A comb of another gain makes some levels empty and others full: nothing to be read off one of them. */
  #hasHoles(expected: number): boolean {
    return this.#counts.some(
      (count, at) => at !== REACH && Math.abs(count - expected) > 4 * Math.sqrt(2 * expected) + 0.1 * expected,
    );
  }
}

// Least energy with which a linear prediction carries the sound from one side of a gap to the other, and the samples that
// do it: how well two stretches belong together with so many samples between them. Pure mathematics, no judging.
// Method: A. J. E. M. Janssen, R. N. J. Veldhuis, L. B. Vries, "Adaptive interpolation of discrete-time signals that can be
// modeled as autoregressive processes", IEEE Trans. ASSP 34 (1986), section II.
import type { Predictor } from '../../signal/index.ts';

/** What samples have too much against those of a bridge. */
export interface Excess {
  /** residual energy that goes with it */
  readonly gain: number;
  readonly heights: Float64Array;
}

/** Bridges gaps of 0..longest samples with one predictor; the factorisation is made once, as far as the gaps need it. */
export class Bridges {
  readonly #taps: Float64Array;
  readonly #factor: ToeplitzFactor;
  readonly #longest: number;
  /** both sides and the gap; its residuals; what they ask of the gap; the samples in between */
  readonly #around: Float64Array;
  readonly #residual: Float64Array;
  readonly #pull: Float64Array;
  readonly #between: Float64Array;

  constructor(predictor: Predictor, longest: number) {
    this.#taps = Float64Array.from([1, ...Array.from(predictor, (a) => -a)]);
    this.#longest = longest;
    this.#factor = new ToeplitzFactor(this.#taps, longest);
    this.#around = new Float64Array(2 * predictor.length + longest);
    this.#residual = new Float64Array(predictor.length + longest);
    this.#pull = new Float64Array(longest);
    this.#between = new Float64Array(longest);
  }

  get order(): number {
    return this.#taps.length - 1;
  }

  /** Residual energy that one sample too high by one has. */
  get gainOfOne(): number {
    return this.#factor.rows(1)[0] ** 2;
  }

  /**
   * Residual energy that goes when `gap` samples of a sound are bridged. `pulls`: of each sample the sum of the residuals it has a part
   * in, weighted by that part; the samples are those from index `at` on.
   */
  gain(pulls: Float64Array, at: number, gap: number): number {
    for (let i = 0; i < gap; i++) this.#pull[i] = pulls[at + i];
    this.#solve(gap);
    let gain = 0;
    for (let i = 0; i < gap; i++) gain += this.#pull[i] * this.#between[i];
    return gain;
  }

  excess(pulls: Float64Array, at: number, gap: number): Excess {
    return { gain: this.gain(pulls, at, gap), heights: this.#between.slice(0, gap) };
  }

  /** Energy of the residuals over the gap and the `order` samples after it. `left` ends before the gap and `right` begins after it; both
   * hold at least `order` samples. */
  energyAcross(left: Float64Array, right: Float64Array, gap: number): number {
    const order = this.order;
    const y = this.#around;
    y.set(left.subarray(left.length - order), 0);
    y.fill(0, order, order + gap);
    y.set(right.subarray(0, order), order + gap);
    let energy = this.#residuals(2 * order + gap);
    const [residual, taps, pull, between] = [this.#residual, this.#taps, this.#pull, this.#between];
    for (let i = 0; i < gap; i++) {
      let sum = 0;
      for (let j = 0; j <= order; j++) sum -= taps[j] * residual[i + j];
      pull[i] = sum;
    }
    this.#solve(gap);
    for (let i = 0; i < gap; i++) energy -= pull[i] * between[i];
    return Math.max(0, energy);
  }

  /** Residuals of the samples around from `order` on, with zeros in the gap; returns their energy. */
  #residuals(length: number): number {
    const [order, taps, y, residual] = [this.order, this.#taps, this.#around, this.#residual];
    let energy = 0;
    for (let n = order; n < length; n++) {
      let sum = 0;
      for (let j = 0; j <= order; j++) sum += taps[j] * y[n - j];
      residual[n - order] = sum;
      energy += sum * sum;
    }
    return energy;
  }

  /** From `pull` to `between`, with the leading part of the factor: the matrix of a shorter gap is the corner of that of a longer one. */
  #solve(n: number): void {
    const [size, l, y] = [this.#longest, this.#factor.rows(n), this.#between];
    for (let i = 0; i < n; i++) {
      let sum = this.#pull[i];
      for (let k = 0; k < i; k++) sum -= l[i * size + k] * y[k];
      y[i] = sum / l[i * size + i];
    }
    for (let i = n - 1; i >= 0; i--) {
      for (let k = i + 1; k < n; k++) y[i] -= l[k * size + i] * y[k];
      y[i] /= l[i * size + i];
    }
  }
}

/** Cholesky factor of the Toeplitz matrix of the taps' autocorrelation; positive definite as the first tap is 1. */
class ToeplitzFactor {
  readonly #correlation: Float64Array;
  readonly #size: number;
  /** made at the first gap: most joints are judged without one */
  #l: Float64Array | undefined;
  #done = 0;

  constructor(taps: Float64Array, size: number) {
    this.#size = size;
    this.#correlation = new Float64Array(size);
    for (let lag = 0; lag < Math.min(size, taps.length); lag++) {
      for (let j = 0; j + lag < taps.length; j++) this.#correlation[lag] += taps[j] * taps[j + lag];
    }
  }

  /** At least the first `count` rows: each needs only those before it. */
  rows(count: number): Float64Array {
    const [size, correlation] = [this.#size, this.#correlation];
    this.#l ??= new Float64Array(size * size);
    const l = this.#l;
    for (; this.#done < count; this.#done++) {
      const i = this.#done;
      for (let j = 0; j <= i; j++) {
        let sum = correlation[i - j];
        for (let k = 0; k < j; k++) sum -= l[i * size + k] * l[j * size + k];
        // Strongly tonal sound may be singular within rounding: a floor keeps the solution finite.
        l[i * size + j] = i === j ? Math.sqrt(Math.max(sum, 1e-12 * correlation[0])) : sum / l[j * size + j];
      }
    }
    return l;
  }
}

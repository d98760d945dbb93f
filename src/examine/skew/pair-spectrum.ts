// Averaged auto and cross spectra of two channels over windows. Not for judging them (phase-slope.ts).
import { fftPlan } from '../../signal/index.ts';

/** State with a life: add windows, then read the sums. Bins 0 .. size/2. */
export class PairSpectrum {
  readonly size: number;
  readonly first: Float64Array;
  readonly second: Float64Array;
  /** sum of A conj(B): the phase rises by 2 pi k d / size where B is d samples late */
  readonly crossRe: Float64Array;
  readonly crossIm: Float64Array;
  windows = 0;
  readonly #fft: ReturnType<typeof fftPlan>;
  readonly #shape: Float64Array;
  readonly #re: Float64Array;
  readonly #im: Float64Array;

  constructor(size: number) {
    this.size = size;
    this.#fft = fftPlan(size);
    this.#shape = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / size));
    this.#re = new Float64Array(size);
    this.#im = new Float64Array(size);
    const bins = size / 2 + 1;
    this.first = new Float64Array(bins);
    this.second = new Float64Array(bins);
    this.crossRe = new Float64Array(bins);
    this.crossIm = new Float64Array(bins);
  }

  /** Windows in which either channel is silent are left out. Loud windows count more (by the root of their power), for where sound is
   * near the step of the word, its rounding is common to both channels and has no delay. */
  add(a: Int32Array, b: Int32Array): void {
    const scaleA = 1 / Math.sqrt(rootMeanSquare(a));
    const scaleB = 1 / Math.sqrt(rootMeanSquare(b));
    if (!Number.isFinite(scaleA + scaleB)) return;
    for (let i = 0; i < this.size; i++) {
      this.#re[i] = a[i] * scaleA * this.#shape[i];
      this.#im[i] = b[i] * scaleB * this.#shape[i];
    }
    this.#fft.forward(this.#re, this.#im);
    this.#accumulate();
    this.windows++;
  }

  /** Both real signals from one transform: A = (Z[k] + conj Z[-k]) / 2, B = (Z[k] - conj Z[-k]) / 2i. */
  #accumulate(): void {
    const size = this.size;
    for (let k = 0; k <= size / 2; k++) {
      const m = (size - k) & (size - 1);
      const ar = this.#re[k] + this.#re[m];
      const ai = this.#im[k] - this.#im[m];
      const br = this.#im[k] + this.#im[m];
      const bi = this.#re[m] - this.#re[k];
      this.first[k] += ar * ar + ai * ai;
      this.second[k] += br * br + bi * bi;
      this.crossRe[k] += ar * br + ai * bi;
      this.crossIm[k] += ai * br - ar * bi;
    }
  }
}

/** Of the changes from sample to sample: an offset is no sound. Infinity-safe: 0 for a channel that stands still. */
function rootMeanSquare(plane: Int32Array): number {
  let sum = 0;
  for (let i = 1; i < plane.length; i++) sum += (plane[i] - plane[i - 1]) ** 2;
  return Math.sqrt(sum / (plane.length - 1));
}

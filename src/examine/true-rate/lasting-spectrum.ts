// What lasts in a recording: for each frequency the level that it has or exceeds in eight of ten windows. Notes come and go, hum and residues of pictures
// stay. Not for judging.
import { fftPlan } from '../../signal/index.ts';

export const SPECTRUM_SIZE = 32_768;
/** What is there in eight windows of ten. */
const LASTING = 0.2;

/** State with a life: add up to `mostWindows` windows of SPECTRUM_SIZE frames, then read. Powers of all channels are added up. */
export class LastingSpectrum {
  readonly #fft = fftPlan(SPECTRUM_SIZE);
  readonly #shape = Float64Array.from(
    { length: SPECTRUM_SIZE },
    (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / SPECTRUM_SIZE),
  );
  static readonly mostWindows = 40;
  readonly #kept: Float32Array[] = [];

  add(planes: readonly Int32Array[]): void {
    const power = new Float32Array(SPECTRUM_SIZE / 2 + 1);
    for (let c = 0; c < planes.length; c += 2) this.#addPair(planes[c], planes[c + 1], power);
    this.#kept.push(power);
  }

  /** Logarithm of each bin's lasting power against the median of its surroundings. */
  excess(): Float64Array {
    const bins = SPECTRUM_SIZE / 2 + 1;
    const level = new Float64Array(bins);
    const column = new Float32Array(this.#kept.length);
    const at = Math.floor(LASTING * this.#kept.length);
    for (let k = 0; k < bins; k++) {
      for (const [i, power] of this.#kept.entries()) column[i] = power[k];
      column.sort();
      level[k] = Math.log((column[at] ?? 0) + 1e-9);
    }
    return againstSurroundings(level);
  }

  /** Two real windows in one transform. */
  #addPair(a: Int32Array, b: Int32Array | undefined, power: Float32Array): void {
    const re = Float64Array.from(this.#shape, (shape, i) => shape * a[i]);
    const im = b ? Float64Array.from(this.#shape, (shape, i) => shape * b[i]) : new Float64Array(SPECTRUM_SIZE);
    this.#fft.forward(re, im);
    for (let k = 0; k < power.length; k++) {
      const m = (SPECTRUM_SIZE - k) & (SPECTRUM_SIZE - 1);
      power[k] += (re[k] ** 2 + im[k] ** 2 + re[m] ** 2 + im[m] ** 2) / 2;
    }
  }
}

/** Median over so many bins, one block at a time: a tone of three bins does not lift it. */
const AROUND = 64;

function againstSurroundings(level: Float64Array): Float64Array {
  const out = new Float64Array(level.length);
  for (let from = 0; from < level.length; from += AROUND / 4) {
    const around = level.slice(Math.max(0, from - AROUND / 2), from + AROUND / 2 + AROUND / 4).sort();
    const median = around[around.length >> 1];
    for (let k = from; k < Math.min(level.length, from + AROUND / 4); k++) out[k] = level[k] - median;
  }
  return out;
}

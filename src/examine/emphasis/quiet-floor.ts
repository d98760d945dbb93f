// The noise under a channel in bands, in its quietest moments, and the loudness of its treble over all of it. Power as the variance of white noise that would give as
// much, in steps of the container. Not for judging (emphasis.ts).
import { powerSpectrum } from '../../signal/index.ts';

export const FLOOR_WINDOW = 1024;
const BANDS = 8;
const LOWEST_HZ = 1500;
const HIGHEST_HZ = 18_000;
/** Converters' filters begin above this share of the rate. */
const HIGHEST_SHARE = 0.42;
/** The bottom is what this share of the windows does not exceed; the floor, what lies within a little of it, and how many windows must. */
const BOTTOM_SHARE = 0.05;
const NEAR_BOTTOM = 1.35;
const FEWEST_QUIET = 12;

export interface Floor {
  readonly hz: readonly number[];
  /** one for each band */
  readonly variance: readonly number[];
  readonly windows: number;
}

/** State with a life: add windows, then read. */
export class QuietFloor {
  readonly #edges: readonly number[];
  readonly #binHz: number;
  readonly #shape: Float64Array;
  readonly #shapePower: number;
  /** the window at hand under the shape */
  readonly #shaped = new Float64Array(FLOOR_WINDOW);
  readonly #seen: { readonly total: number; readonly bands: Float64Array }[] = [];
  #low = 0;
  #high = 0;

  constructor(rateHz: number) {
    this.#binHz = rateHz / FLOOR_WINDOW;
    const top = Math.min(HIGHEST_HZ, HIGHEST_SHARE * rateHz);
    this.#edges = Array.from({ length: BANDS + 1 }, (_, i) => LOWEST_HZ * (top / LOWEST_HZ) ** (i / BANDS));
    this.#shape = Float64Array.from(
      { length: FLOOR_WINDOW },
      (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / FLOOR_WINDOW),
    );
    this.#shapePower = this.#shape.reduce((sum, one) => sum + one * one, 0);
  }

  add(plane: Int32Array): void {
    const [shape, shaped] = [this.#shape, this.#shaped];
    for (let i = 0; i < FLOOR_WINDOW; i++) shaped[i] = shape[i] * plane[i];
    const power = powerSpectrum(shaped, FLOOR_WINDOW);
    const bands = new Float64Array(BANDS);
    let total = 0;
    for (let b = 0; b < BANDS; b++) {
      bands[b] = this.#mean(power, this.#edges[b], this.#edges[b + 1]);
      total += bands[b];
    }
    if (total === 0) return;
    this.#seen.push({ total, bands });
    this.#low += this.#mean(power, 500, 2000);
    this.#high += this.#mean(power, 6000, Math.min(12_000, this.#edges[BANDS]));
  }

  /** Undefined where too little sounds. */
  floor(): Floor | undefined {
    const sorted = [...this.#seen].sort((a, b) => a.total - b.total);
    const bottom = sorted[Math.floor(BOTTOM_SHARE * sorted.length)]?.total ?? 0;
    // All windows near the bottom, not the lowest alone: those are low by chance.
    const quiet = sorted.filter(({ total }) => total <= NEAR_BOTTOM * bottom);
    if (quiet.length < FEWEST_QUIET) return undefined;
    const variance = Array.from(
      { length: BANDS },
      (_, b) => quiet.reduce((sum, { bands }) => sum + bands[b], 0) / quiet.length,
    );
    const hz = Array.from({ length: BANDS }, (_, b) => Math.sqrt(this.#edges[b] * this.#edges[b + 1]));
    return { hz, variance, windows: quiet.length };
  }

  /** 6 to 12 kHz against 0.5 to 2 kHz, dB; undefined where nothing sounds. */
  brightnessDb(): number | undefined {
    return this.#low > 0 && this.#high > 0 ? 10 * Math.log10(this.#high / this.#low) : undefined;
  }

  #mean(power: Float64Array, fromHz: number, toHz: number): number {
    const from = Math.round(fromHz / this.#binHz);
    const to = Math.max(from + 1, Math.round(toHz / this.#binHz));
    let sum = 0;
    for (let k = from; k < to; k++) sum += power[k];
    return sum / (to - from) / this.#shapePower;
  }
}

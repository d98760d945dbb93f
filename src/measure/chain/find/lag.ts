// How late a known stretch came, to a small part of a frame: by comparing at the expected place first, by correlation around it where that is not enough.
// Not for stretches of unknown contents.
import { correlationOf, crossSpectrum, fftPlan, fftSize, fractionalPeak } from '../../../signal/index.ts';

export interface Lag {
  /** frames after the window's start at which the stretch begins */
  readonly frames: number;
  /** -1 to 1 */
  readonly likeness: number;
}

/** Below, chance among a few thousand places is no longer out of the question for stretches of 4000 frames. */
export const LEAST_LIKENESS = 0.1;
/** A stretch that is at the expected place to this part of a frame needs no transform. */
const SURE_FRAMES = 0.01;
const SURE_LIKENESS = 0.9;
const PEAKS = 10;

/** The stretch in the window, expected near `expected`. Undefined where nothing is alike. */
export function lagIn(window: Float64Array, stretch: Float64Array, expected: number): Lag | undefined {
  const direct = directLag(window, stretch, Math.round(expected));
  return direct ?? searchedLag(withoutPeaks(window), stretch);
}

/**
 * Bursts are as loud as all the rest together: they would decide every likeness by a few hundred samples. Louder samples than `PEAKS` medians are brought
 * down to that; chips stand eight medians of the hiss high.
 */
export function withoutPeaks(window: Float64Array): Float64Array {
  const sizes = new Float64Array(window.length);
  for (let n = 0; n < window.length; n++) sizes[n] = Math.abs(window[n]);
  sizes.sort();
  const limit = PEAKS * sizes[sizes.length >> 1];
  if (limit === 0) return window;
  for (let n = 0; n < window.length; n++) sizes[n] = Math.max(-limit, Math.min(limit, window[n]));
  return sizes;
}

function directLag(window: Float64Array, stretch: Float64Array, at: number): Lag | undefined {
  if (at < 1 || at + stretch.length + 1 > window.length) return undefined;
  const likeness = likenessAt(window, stretch, at);
  if (Math.abs(likeness) < SURE_LIKENESS) return undefined;
  const sign = Math.sign(likeness);
  const [before, after] = [at - 1, at + 1].map((place) => sign * likenessAt(window, stretch, place));
  const bend = before - 2 * sign * likeness + after;
  const off = bend < 0 ? (before - after) / (2 * bend) : 1;
  return Math.abs(off) < SURE_FRAMES ? { frames: at + off, likeness } : undefined;
}

function searchedLag(window: Float64Array, stretch: Float64Array): Lag | undefined {
  // lags from 0 on need no more room than the window itself
  const spectrum = crossSpectrum(window, stretch, fftPlan(fftSize(window.length)));
  const last = window.length - stretch.length;
  const { values } = correlationOf(spectrum, 0, last);
  const sums = new Float64Array(window.length + 1);
  for (let n = 0; n < window.length; n++) sums[n + 1] = sums[n] + window[n] ** 2;
  let best = 0;
  let most = 0;
  for (let n = 0; n <= last; n++) {
    const energy = sums[n + stretch.length] - sums[n];
    const likeness = energy > 0.5 ? values[n] ** 2 / energy : 0;
    if (likeness > most) [best, most] = [n, likeness];
  }
  if (most === 0) return undefined;
  const likeness = likenessAt(window, stretch, best);
  if (Math.abs(likeness) < LEAST_LIKENESS) return undefined;
  return { frames: fractionalPeak(spectrum, { lag: best, value: values[best] }).lag, likeness };
}

function likenessAt(window: Float64Array, stretch: Float64Array, at: number): number {
  let both = 0;
  let own = 0;
  let other = 0;
  for (let n = 0; n < stretch.length; n++) {
    const x = window[at + n];
    both += x * stretch[n];
    own += stretch[n] * stretch[n];
    other += x * x;
  }
  return own > 0 && other > 0 ? both / Math.sqrt(own * other) : 0;
}

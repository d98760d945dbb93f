// Is it the same recording at another level, in whole numbers? Fits y = g x + c and asks whether everything left is the
// rounding of one multiplication. Not for copies with noise: those leave more than rounding.
import { median } from '../signal/index.ts';
import type { Comparison } from './verify.ts';

export interface GainFit {
  readonly gain: number;
  /** constant difference, in the units of the samples */
  readonly offset: number;
  /** share of the samples within `halfStep` of the line */
  readonly withinShare: number;
  /** root mean square distance of the samples from the line, outliers (beyond 8 x the median distance) left out */
  readonly rms: number;
}

const MIN_SAMPLES = 400;
/** A constant (a mute, a held value) fits a gain of nothing; no recorder attenuates by 60 dB. */
const LEAST_GAIN = 1e-3;
/** Rounding stays within half a step; the rest is room for the error of the fit. */
export const ROUNDING_STEPS = 0.56;

/** Robust line through [x, y] pairs: medians first, least squares over what lies near, twice. */
export function fitGain(pairs: readonly (readonly [number, number])[], halfStep: number): GainFit {
  const large = upperHalf(pairs);
  let gain = median(large.map(([x, y]) => y / x));
  let offset = median(pairs.map(([x, y]) => y - gain * x));
  let reach = 0;
  for (let round = 0; round < 3; round++) {
    const distances = pairs.map(([x, y]) => Math.abs(y - gain * x - offset));
    reach = Math.max(8 * median(distances), 2 * halfStep);
    const near = pairs.filter((_, n) => distances[n] <= reach);
    const line = leastSquares(near);
    if (!line) break;
    ({ gain, offset } = line);
  }
  let within = 0;
  let square = 0;
  let counted = 0;
  for (const [x, y] of pairs) {
    const distance = Math.abs(y - gain * x - offset);
    if (distance <= halfStep) within++;
    if (distance > reach) continue;
    square += distance ** 2;
    counted++;
  }
  return { gain, offset, withinShare: within / pairs.length, rms: Math.sqrt(square / Math.max(1, counted)) };
}

/** Gain from the other side's samples to the own side's when the differing samples of an exact link fit one; else null. */
export function gainOfDiffering({ differing }: Comparison, ownBits: number, otherBits: number): number | null {
  if (differing.length < MIN_SAMPLES) return null;
  const step = 2 ** (32 - Math.min(ownBits, otherBits));
  const fit = fitGain(differing, ROUNDING_STEPS * step);
  const isGain = Math.abs(fit.gain) > LEAST_GAIN && Math.abs(fit.gain - 1) > 1e-6;
  return fit.withinShare >= 0.9 && isGain ? fit.gain : null;
}

function upperHalf(pairs: readonly (readonly [number, number])[]): (readonly [number, number])[] {
  const level = median(pairs.map(([x]) => Math.abs(x)));
  return pairs.filter(([x]) => Math.abs(x) >= level && x !== 0);
}

function leastSquares(pairs: readonly (readonly [number, number])[]): { gain: number; offset: number } | null {
  let sx = 0;
  let sy = 0;
  for (const [x, y] of pairs) {
    sx += x;
    sy += y;
  }
  const mx = sx / pairs.length;
  const my = sy / pairs.length;
  let xx = 0;
  let xy = 0;
  for (const [x, y] of pairs) {
    xx += (x - mx) ** 2;
    xy += (x - mx) * (y - my);
  }
  return xx === 0 || pairs.length < 2 ? null : { gain: xy / xx, offset: my - (xy / xx) * mx };
}

// What the remainder is once gain or filter are taken away: nothing but the rounding of the word, dither of a known kind, noise, or something that follows the
// sound. Statistics, therefore never proof.
import type { DifferenceSpectrum } from './difference-spectrum.ts';
import type { Silence } from './survey.ts';

export type RestKind =
  | 'rounding'
  | 'triangular dither'
  | 'rectangular dither'
  | 'shaped dither'
  | 'noise'
  | 'follows the sound';

export interface RestInput {
  /** of the captured word, in steps of the capture */
  readonly step: number;
  readonly rms: number;
  /** size that all but one in three thousand samples keep below, in steps of the capture (`reachOf`) */
  readonly reach: number;
  /** by which a remainder of the fit may lie beyond the bounds of a dither, in steps of the word */
  readonly slack: number;
  /** where digital zero was sent; undefined where none was captured */
  readonly silence: Silence | undefined;
  readonly spectrum: DifferenceSpectrum | undefined;
}

/** Mean squares in steps: rounding alone; with rectangular dither of one step; with triangular dither of two (S. Lipshitz, R. Wannamaker, J. Vanderkooy, JAES 40, 1992). */
const ROUNDING = 1 / 12;
const RECTANGULAR = 1 / 6;
const TRIANGULAR = 1 / 4;
const TOLERANCE = 0.08;
/** Shaped dither moves its power out of where ears are best: parts of the band lie below plain triangular dither, others far above. */
const SHAPED_RANGE = 8;
const MOST_SHAPED_STEPS = 64;
/** Noise that a chain adds is there in silence too. */
const SAME_NOISE = 0.5;

export function restKind({ step, rms, reach, slack, silence, spectrum }: RestInput): RestKind {
  const power = (rms / step) ** 2;
  const size = reach / step;
  const near = (target: number) => Math.abs(power / target - 1) < TOLERANCE;
  if (power < ROUNDING * (1 + TOLERANCE)) return 'rounding';
  // a dithered zero is rounded to whole steps: one at most, or none
  const zeroWithin = (steps: number) => !silence || silence.most < (steps + 0.5) * step;
  const isWhite = !spectrum || spectrum.loudest < 2 * spectrum.quietest;
  if (near(TRIANGULAR) && size <= 1.5 + slack && zeroWithin(1)) return isWhite ? 'triangular dither' : 'shaped dither';
  if (near(RECTANGULAR) && size <= 1 + slack && isWhite && zeroWithin(0)) return 'rectangular dither';
  if (spectrum && isShaped(spectrum, power) && size < MOST_SHAPED_STEPS) return 'shaped dither';
  if (!silence || silence.rms >= SAME_NOISE * rms) return 'noise';
  return 'follows the sound';
}

/** Noise as strong as triangular dither reaches 1.79 steps, the dither itself 1.40: errors of the fit leave room to tell them apart. */
const BEYOND = 1 / 3000;

export function reachOf(rests: readonly Float64Array[]): number {
  const sizes = new Float64Array(rests.reduce((sum, rest) => sum + rest.length, 0));
  let at = 0;
  for (const rest of rests) for (const x of rest) sizes[at++] = Math.abs(x);
  sizes.sort();
  return sizes[Math.floor((1 - BEYOND) * (sizes.length - 1))] ?? 0;
}

function isShaped({ quietest, loudest, lineHz }: DifferenceSpectrum, power: number): boolean {
  return (
    lineHz === undefined &&
    loudest > SHAPED_RANGE * quietest &&
    quietest * power < TRIANGULAR &&
    loudest * power > TRIANGULAR
  );
}

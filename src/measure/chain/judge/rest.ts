// What the remainder is once gain or filter are taken away: nothing but the rounding of the word, dither of a known kind, noise, or something that follows the
// sound. Statistics, therefore never proof.
import type { DifferenceSpectrum } from './difference-spectrum.ts';

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
  readonly most: number;
  /** by which a remainder of the fit may lie beyond the bounds of a dither, in steps of the word */
  readonly slack: number;
  /** root mean square where digital zero was sent; undefined where none was captured */
  readonly silenceRms: number | undefined;
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

export function restKind({ step, rms, most, slack, silenceRms, spectrum }: RestInput): RestKind {
  const power = (rms / step) ** 2;
  const size = most / step;
  const near = (target: number) => Math.abs(power / target - 1) < TOLERANCE;
  if (power < ROUNDING * (1 + TOLERANCE)) return 'rounding';
  const isWhite = !spectrum || spectrum.loudest < 2 * spectrum.quietest;
  if (near(TRIANGULAR) && size <= 1.5 + slack) return isWhite ? 'triangular dither' : 'shaped dither';
  if (near(RECTANGULAR) && size <= 1 + slack && isWhite) return 'rectangular dither';
  if (spectrum && isShaped(spectrum, power) && size < MOST_SHAPED_STEPS) return 'shaped dither';
  if (silenceRms === undefined || silenceRms >= SAME_NOISE * rms) return 'noise';
  return 'follows the sound';
}

function isShaped({ quietest, loudest, lineHz }: DifferenceSpectrum, power: number): boolean {
  return (
    lineHz === undefined &&
    loudest > SHAPED_RANGE * quietest &&
    quietest * power < TRIANGULAR &&
    loudest * power > TRIANGULAR
  );
}

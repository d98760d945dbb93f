// Changing the sampling rate in float64, for simulation and tests: exact rational ratios, arbitrary real ratios (clock drift)
// and fractional delays. Whole signals in memory; not for masters: captured samples are never resampled.
// Windowed sinc with a Kaiser window; design formulas of J. F. Kaiser (A. Oppenheim, R. Schafer, Discrete-Time Signal
// Processing, section 7.5; certainty M), checked against scipy and sox.
import { TapeproofError } from '../base/index.ts';

export interface ResampleOptions {
  /** zero crossings of the sinc on each side; longer = wider pass band. Default 64 */
  readonly halfTaps?: number;
  /** stop band, dB; it begins at the Nyquist frequency of the lower rate. Default 120 */
  readonly attenuationDb?: number;
}

/** Output rate / input rate, both positive integers. */
export interface Ratio {
  readonly num: number;
  readonly den: number;
}

/** Phases kept as a table; a ratio that needs more is computed through the fine table of `resampleReal`. */
const MAX_TABLE = 4_000_000;
/** Points of the fine table per zero crossing; linear interpolation between them errs below -150 dB. */
const FINE = 8192;

/**
 * Output frame n is the input at n·den/num, frame 0 on frame 0; ceil(length·num/den) frames. The input is taken as zero
 * outside, so the first and last `halfTaps` frames are transients. Throws `input` for a ratio that is not of positive integers.
 */
export function resample(input: Float64Array, ratio: Ratio, options: ResampleOptions = {}): Float64Array {
  const { num, den } = reduced(ratio);
  const output = new Float64Array(Math.ceil((input.length * num) / den));
  if (num === den) output.set(input);
  else {
    const kernel = kernelFor(Math.min(1, num / den), options);
    if (num * (2 * kernel.reach + 1) > MAX_TABLE) fillReal(input, den / num, 0, output, kernel, fineTable(kernel));
    else fillRational(input, num, den, output, kernel);
  }
  return output;
}

/** Output frame n is the input at `startFrame + n·stepFrames`; both may be any real numbers, the step positive. */
export function resampleReal(
  input: Float64Array,
  startFrame: number,
  stepFrames: number,
  frames: number,
  options: ResampleOptions = {},
): Float64Array {
  if (!(stepFrames > 0) || !Number.isFinite(startFrame)) {
    throw new TapeproofError('input', 'not a step through a signal', {
      found: `start ${startFrame}, step ${stepFrames}`,
    });
  }
  return realResampler(stepFrames, options)(input, startFrame, stepFrames, frames);
}

export type RealResampler = (
  input: Float64Array,
  startFrame: number,
  stepFrames: number,
  frames: number,
) => Float64Array;

/** `resampleReal` for many stretches: the table is made once, when it is first needed, for steps up to `largestStep`. */
export function realResampler(largestStep: number, options: ResampleOptions = {}): RealResampler {
  const kernel = kernelFor(Math.min(1, 1 / largestStep), options);
  let table: Float64Array | undefined;
  return (input, startFrame, stepFrames, frames) => {
    const output = new Float64Array(frames);
    table ??= fineTable(kernel);
    fillReal(input, stepFrames, startFrame, output, kernel, table);
    return output;
  };
}

/** The input later by `delayFrames` (any real number, may be negative); same length. */
export function fractionalDelay(input: Float64Array, delayFrames: number, options: ResampleOptions = {}): Float64Array {
  return resampleReal(input, -delayFrames, 1, input.length, options);
}

/** Taps of `fractionalDelay`, for streams: out[n] = sum over k of taps[k] * x[n + reach - k], taps.length = 2 * reach + 1. */
export function delayTaps(delayFrames: number, options: ResampleOptions = {}): Float64Array {
  const { reach, at } = kernelFor(1, options);
  return Float64Array.from({ length: 2 * reach + 1 }, (_, k) => at(k - reach - delayFrames));
}

interface Kernel {
  /** pass band edge against the input's rate, cycles per frame times 2 */
  readonly cutoff: number;
  /** input frames on each side that count */
  readonly reach: number;
  readonly at: (offset: number) => number;
}

function kernelFor(band: number, { halfTaps = 64, attenuationDb = 120 }: ResampleOptions): Kernel {
  const beta = 0.1102 * (attenuationDb - 8.7);
  // transition width in cycles per frame of the lower rate; half of it lies on each side of the cutoff
  const transition = (attenuationDb - 7.95) / (2.285 * 2 * Math.PI * 2 * halfTaps);
  const cutoff = band * (1 - transition);
  const width = halfTaps / band;
  const top = besselI0(beta);
  const at = (offset: number) => {
    const u = offset / width;
    if (u <= -1 || u >= 1) return 0;
    return (cutoff * sinc(cutoff * offset) * besselI0(beta * Math.sqrt(1 - u * u))) / top;
  };
  return { cutoff, reach: Math.ceil(width), at };
}

function fillRational(input: Float64Array, num: number, den: number, output: Float64Array, kernel: Kernel): void {
  const taps = 2 * kernel.reach + 1;
  const table = new Float64Array(num * taps);
  for (let phase = 0; phase < num; phase++) {
    for (let k = 0; k < taps; k++) table[phase * taps + k] = kernel.at(k - kernel.reach - phase / num);
  }
  let centre = 0;
  let phase = 0;
  for (let n = 0; n < output.length; n++) {
    const from = centre - kernel.reach;
    const first = Math.max(0, -from);
    const last = Math.min(taps, input.length - from);
    let sum = 0;
    for (let k = first; k < last; k++) sum += input[from + k] * table[phase * taps + k];
    output[n] = sum;
    phase += den;
    centre += Math.floor(phase / num);
    phase %= num;
  }
}

function fineTable({ reach, at }: Kernel): Float64Array {
  const fine = new Float64Array((reach + 1) * FINE + 2);
  for (let i = 0; i < fine.length; i++) fine[i] = at(i / FINE);
  return fine;
}

function fillReal(
  input: Float64Array,
  step: number,
  start: number,
  output: Float64Array,
  { reach }: Kernel,
  fine: Float64Array,
): void {
  for (let n = 0; n < output.length; n++) {
    const position = start + n * step;
    const centre = Math.floor(position);
    const first = Math.max(0, centre - reach + 1);
    const last = Math.min(input.length - 1, centre + reach);
    let sum = 0;
    for (let k = first; k <= last; k++) {
      const at = Math.abs(position - k) * FINE;
      const low = Math.floor(at);
      sum += input[k] * (fine[low] + (at - low) * (fine[low + 1] - fine[low]));
    }
    output[n] = sum;
  }
}

function reduced({ num, den }: Ratio): Ratio {
  if (!Number.isSafeInteger(num) || !Number.isSafeInteger(den) || num <= 0 || den <= 0) {
    throw new TapeproofError('input', 'not a ratio of rates', {
      expected: 'two positive integers',
      found: `${num}/${den}`,
    });
  }
  let [a, b] = [num, den];
  while (b) [a, b] = [b, a % b];
  return { num: num / a, den: den / a };
}

function sinc(x: number): number {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
}

/** Modified Bessel function of the first kind, order 0, by its power series. */
function besselI0(x: number): number {
  const quarter = (x * x) / 4;
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-17; k++) sum += term *= quarter / (k * k);
  return sum;
}

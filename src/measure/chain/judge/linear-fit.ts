// The filter that explains a channel best: least squares for the taps of a linear, unchanging system between what was sent and what came, over hiss away
// from bursts; what it leaves, and its response. Not for naming (stories).
import { type Fft, fftPlan, fftSize } from '../../../signal/index.ts';
import { eachPair, type Pair, type PairSource, regionOf } from './pairs.ts';
import { type Estimate, sentFrame } from './survey.ts';
import { solveToeplitz } from './toeplitz.ts';

export interface LinearFit {
  /** tap `EARLY` + k acts on what was sent k frames before */
  readonly taps: Float64Array;
  /** root mean square of what the fit leaves and of what came, in steps of the capture */
  readonly restRms: number;
  readonly capturedRms: number;
  /** root mean square that one gain alone would leave in the same frames */
  readonly plainRestRms: number;
  readonly frames: number;
  /** share of the other sent channel, through the same filter, and one standard deviation; taken away from `rests` where it is sure */
  readonly leak: Estimate;
  /** what it leaves, run by run, for spectra */
  readonly rests: readonly Float64Array[];
}

/** Taps before and after: filters without delay ring on both sides. */
export const EARLY = 256;
const LATE = 767;
const TAPS = EARLY + 1 + LATE;
const LEAST_RUN = 4096;
const MOST_RUNS = 6;
/** The matrix is nearly of the form that is solved: what is left shrinks a hundredfold each time. */
const REFINEMENTS = 2;
/** Less than this and there is no filter: no need to know it better. */
const NO_FILTER = 0.97;

const SURE_LEAK = 6;
/** 38 Hz at 48 kHz */
const POLE = 0.995;

interface Run {
  readonly sent: Float64Array;
  readonly other: Float64Array;
  readonly captured: Float64Array;
}

/** Undefined where no stretch of hiss is long enough. `offset` is taken from the captured samples first. */
export async function linearFit(from: PairSource, offset: number): Promise<LinearFit | undefined> {
  const runs: Run[] = [];
  await eachPair(from, (pair) => {
    runs.push(...hissRuns(from, pair, offset));
    return runs.length < MOST_RUNS ? undefined : 'enough';
  });
  if (runs.length === 0) return undefined;
  const plan = fftPlan(fftSize(Math.max(...runs.map((run) => run.sent.length)) + TAPS));
  const spectra = runs.map(({ sent }) => transformed(sent, plan));
  const column = autocorrelation(runs, plan);
  let taps: Float64Array = new Float64Array(TAPS);
  let rests = runs.map((run) => inner(run.captured));
  const capturedRms = rms(rests);
  const plainRestRms = rms(runs.map(plainRest));
  for (let round = 0; round <= REFINEMENTS; round++) {
    const right = new Float64Array(TAPS);
    for (const [r, rest] of rests.entries()) addCross(right, rest, spectra[r], plan);
    const step = solveToeplitz(column, right);
    taps = taps.map((tap, k) => tap + step[k]);
    rests = runs.map((run, r) => restOf(run, spectra[r], taps, plan));
    if (rms(rests) > NO_FILTER * plainRestRms) break;
  }
  const leak = withoutLeak(runs, rests, taps, plan);
  rests = leak.rests;
  const frames = rests.reduce((sum, rest) => sum + rest.length, 0);
  return { taps, restRms: rms(rests), capturedRms, plainRestRms, frames, leak: leak.estimate, rests };
}

function hissRuns(from: PairSource, pair: Pair, offset: number): Run[] {
  const out: Run[] = [];
  const { captured, expected } = pair;
  const isHiss = (n: number) => regionOf(from.signal, Math.round(sentFrame(pair, n))) !== 'burst';
  for (let a = 0; a < captured.length; ) {
    let b = a;
    while (b < captured.length && isHiss(b)) b++;
    if (b - a >= LEAST_RUN) {
      out.push({
        sent: withoutLows(expected.subarray(a, b)),
        other: withoutLows(pair.other().subarray(a, b)),
        captured: withoutLows(captured.subarray(a, b), offset),
      });
    }
    a = b + 1;
  }
  return out;
}

/**
 * The same high pass of one pole for what was sent and what came changes nothing in what lies between, but couplings that pass all but the lowest tones ring
 * longer than the taps reach: this way what they take away is not there.
 */
function withoutLows(plane: Float64Array | Int32Array, offset = 0): Float64Array {
  const out = new Float64Array(plane.length);
  let before = plane[0] - offset;
  for (let n = 1; n < plane.length; n++) {
    const x = plane[n] - offset;
    out[n] = x - before + POLE * out[n - 1];
    before = x;
  }
  return out;
}

/** Frames whose whole history lies in the run. */
function inner(plane: Float64Array): Float64Array {
  return plane.slice(LATE, plane.length - EARLY);
}

function transformed(values: Float64Array, plan: Fft): { re: Float64Array; im: Float64Array } {
  const re = new Float64Array(plan.size);
  const im = new Float64Array(plan.size);
  re.set(values);
  plan.forward(re, im);
  return { re, im };
}

/** Of the middle part of each run, as long as the inner frames. */
function autocorrelation(runs: readonly Run[], plan: Fft): Float64Array {
  const column = new Float64Array(TAPS);
  for (const { sent } of runs) {
    const half = (LATE + EARLY) >> 1;
    const { re, im } = transformed(sent.subarray(half, sent.length - half), plan);
    for (let k = 0; k < plan.size; k++) {
      re[k] = re[k] ** 2 + im[k] ** 2;
      im[k] = 0;
    }
    plan.inverse(re, im);
    for (let k = 0; k < TAPS; k++) column[k] += re[k];
  }
  // keeps the system solvable where the sent band is empty
  column[0] *= 1 + 1e-9;
  return column;
}

/** Adds sum over n of rest[n] sent[n - k] for the taps k = -EARLY .. LATE. */
function addCross(
  right: Float64Array,
  rest: Float64Array,
  sent: { re: Float64Array; im: Float64Array },
  plan: Fft,
): void {
  const placed = new Float64Array(plan.size);
  placed.set(rest, LATE);
  const { re, im } = transformed(placed, plan);
  for (let k = 0; k < plan.size; k++) {
    const x = re[k];
    re[k] = x * sent.re[k] + im[k] * sent.im[k];
    im[k] = im[k] * sent.re[k] - x * sent.im[k];
  }
  plan.inverse(re, im);
  for (let k = -EARLY; k <= LATE; k++) right[k + EARLY] += re[(k + plan.size) % plan.size];
}

function restOf(run: Run, sent: { re: Float64Array; im: Float64Array }, taps: Float64Array, plan: Fft): Float64Array {
  const model = filtered(sent, taps, plan);
  return inner(run.captured).map((x, n) => x - model[n + LATE + EARLY]);
}

/** The output for inner frame n stands at n + LATE + EARLY. */
function filtered(sent: { re: Float64Array; im: Float64Array }, taps: Float64Array, plan: Fft): Float64Array {
  const { re, im } = transformed(taps, plan);
  for (let k = 0; k < plan.size; k++) {
    const x = re[k];
    re[k] = x * sent.re[k] - im[k] * sent.im[k];
    im[k] = x * sent.im[k] + im[k] * sent.re[k];
  }
  plan.inverse(re, im);
  return re;
}

function withoutLeak(runs: readonly Run[], rests: readonly Float64Array[], taps: Float64Array, plan: Fft) {
  const others = runs.map(({ other }) => filtered(transformed(other, plan), taps, plan));
  let own = 0;
  let both = 0;
  for (const [r, rest] of rests.entries()) {
    for (let n = 0; n < rest.length; n++) {
      const o = others[r][n + LATE + EARLY];
      own += o * o;
      both += o * rest[n];
    }
  }
  const value = own > 0 ? both / own : 0;
  const spread = own > 0 ? rms(rests) / Math.sqrt(own) : 0;
  const isSure = Math.abs(value) > SURE_LEAK * spread;
  return {
    estimate: { value, spread },
    rests: isSure ? rests.map((rest, r) => rest.map((x, n) => x - value * others[r][n + LATE + EARLY])) : [...rests],
  };
}

function plainRest({ sent, captured }: Run): Float64Array {
  const s = inner(sent);
  const c = inner(captured);
  let own = 0;
  let both = 0;
  for (let n = 0; n < s.length; n++) {
    own += s[n] * s[n];
    both += s[n] * c[n];
  }
  const gain = own > 0 ? both / own : 0;
  return c.map((x, n) => x - gain * s[n]);
}

function rms(parts: readonly Float64Array[]): number {
  let square = 0;
  let count = 0;
  for (const part of parts) {
    for (const x of part) square += x * x;
    count += part.length;
  }
  return count > 0 ? Math.sqrt(square / count) : 0;
}

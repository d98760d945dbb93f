// The response of the filter that was fitted: level against frequency, band edges, delay. Not for fitting it (linear-fit.ts).
import { fftPlan } from '../../../signal/index.ts';
import { EARLY, type LinearFit } from './linear-fit.ts';

export interface ResponsePoint {
  readonly hz: number;
  readonly db: number;
}

export interface Response {
  /** twelfths of an octave from 50 Hz to the top of the band */
  readonly points: readonly ResponsePoint[];
  /** level of the flat part of the band, dB */
  readonly gainDb: number;
  /** where the level first falls 3 dB below it; absent where it does not */
  readonly lowEdgeHz?: number;
  readonly highEdgeHz?: number;
  /** greatest departure from the gain between the edges, dB */
  readonly rippleDb: number;
  /** frames by which the middle of the band comes later than the whole-frame place */
  readonly delayFrames: number;
}

const SIZE = 8192;
const LEAST_HZ = 50;
const STEPS_PER_OCTAVE = 12;
const EDGE_DB = 3;

/** `topHz`: nothing above was sent, or can be told. */
export function responseOf({ taps }: LinearFit, rateHz: number, topHz: number): Response {
  const re = new Float64Array(SIZE);
  const im = new Float64Array(SIZE);
  // tap EARLY is at no delay
  for (const [k, tap] of taps.entries()) re[(k - EARLY + SIZE) % SIZE] = tap;
  fftPlan(SIZE).forward(re, im);
  const points: ResponsePoint[] = [];
  for (let hz = LEAST_HZ; hz < topHz; hz *= 2 ** (1 / STEPS_PER_OCTAVE))
    points.push({ hz, db: levelAt(re, im, hz / rateHz) });
  const gainDb = commonLevel(points.map((point) => point.db));
  const inside = points.map(({ db }) => db >= gainDb - EDGE_DB);
  const first = inside.indexOf(true);
  const last = inside.lastIndexOf(true);
  const rippleDb = points.slice(first, last + 1).reduce((most, { db }) => Math.max(most, Math.abs(db - gainDb)), 0);
  return {
    points,
    gainDb,
    ...(first > 0 ? { lowEdgeHz: crossing(points[first - 1], points[first], gainDb - EDGE_DB) } : {}),
    ...(last < points.length - 1 ? { highEdgeHz: crossing(points[last], points[last + 1], gainDb - EDGE_DB) } : {}),
    rippleDb,
    delayFrames: middleDelay(re, im, Math.floor((topHz / rateHz) * SIZE)),
  };
}

/** Frequency at which the line between two points, on a logarithmic axis, passes a level. */
function crossing(a: ResponsePoint, b: ResponsePoint, db: number): number {
  return a.hz * (b.hz / a.hz) ** ((db - a.db) / (b.db - a.db));
}

function levelAt(re: Float64Array, im: Float64Array, cycles: number): number {
  const at = cycles * SIZE;
  const low = Math.floor(at);
  const part = at - low;
  const power = (k: number) => re[k] ** 2 + im[k] ** 2;
  return 10 * Math.log10((1 - part) * power(low) + part * power(low + 1) + 1e-30);
}

/** Phase against frequency, weighted by power: its slope is the delay. */
function middleDelay(re: Float64Array, im: Float64Array, top: number): number {
  let sumRe = 0;
  let sumIm = 0;
  for (let k = 8; k < top; k++) {
    sumRe += re[k + 1] * re[k] + im[k + 1] * im[k];
    sumIm += im[k + 1] * re[k] - re[k + 1] * im[k];
  }
  return (-Math.atan2(sumIm, sumRe) * SIZE) / (2 * Math.PI);
}

/** Mean of the quarter of the points that lie closest together: the flat part of the band. */
function commonLevel(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const count = Math.ceil(sorted.length / 4);
  let from = 0;
  for (let k = 1; k + count <= sorted.length; k++) {
    if (sorted[k + count - 1] - sorted[k] < sorted[from + count - 1] - sorted[from]) from = k;
  }
  return sorted.slice(from, from + count).reduce((a, b) => a + b, 0) / count;
}

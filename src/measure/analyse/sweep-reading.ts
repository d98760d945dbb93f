// Frequency response from the logarithmic sweep: spectrum of the capture against that of the sweep itself at the capture's own rate, the
// impulse response gated so that harmonics (which come early) and most noise fall outside (A. Farina, AES convention 108, 2000; certainty M).
import { fftPlan, fftSize } from '../../signal/index.ts';
import { type Section, SWEEP } from '../programme/plan.ts';
import { waveOf } from '../programme/waveform.ts';
import { db, type Measured, measured, spreadDb } from './measured.ts';
import type { Stretch } from './stretch.ts';

export interface ResponsePoint {
  readonly hz: number;
  /** captured level against sent level, dB */
  readonly gainDb: Measured;
}

export const SWEEP_MARGIN = 0.45;
const BEFORE_SECONDS = 0.05;
const AFTER_SECONDS = 0.15;
/** Where the deconvolved sweep holds nothing but noise, and the rest after the sweep still reaches. */
const QUIET_SECONDS: readonly number[] = [0.21, 0.25, 0.29];
const PER_OCTAVE = 24;
/** Three gates that overlap say little of the noise at one frequency: neighbours help. */
const NOISE_REACH = 4;

/** `stretch` must reach `SWEEP_MARGIN` beyond the section at both ends. */
export function readSweep(stretch: Stretch, section: Section): ResponsePoint[][] {
  const { sound } = section;
  if (sound.kind !== 'sweep') throw new Error('not a sweep');
  const { perSecond, from, planes } = stretch;
  const wave = waveOf(section);
  const size = fftSize(planes[0].length + Math.ceil(perSecond));
  const plan = fftPlan(size);
  const refRe = new Float64Array(size);
  const refIm = new Float64Array(size);
  for (let n = 0; n < planes[0].length; n++) refRe[n] = wave(from + n / perSecond);
  plan.forward(refRe, refIm);
  const top = Math.min(sound.topHz * 0.985, 0.49 * perSecond);
  const points = frequencies(top);
  const [low, high] = [Math.floor((SWEEP.fromHz / perSecond) * size), Math.ceil((sound.topHz / perSecond) * size)];
  const impulseOf = (re: Float64Array, im: Float64Array) => {
    divide(re, im, refRe, refIm, low, Math.min(high, size / 2 - 1));
    plan.inverse(re, im);
    return re;
  };
  // what the gate makes of a perfect device: the sweep's own band edges ring longer than the gate is long
  const perfect = impulseOf(refRe.slice(), refIm.slice());
  const own = points.map((hz) => gated(perfect, hz / perSecond, perSecond, 0));
  return planes.map((plane) => {
    const re = new Float64Array(size);
    const im = new Float64Array(size);
    re.set(plane);
    plan.forward(re, im);
    const impulse = impulseOf(re, im);
    return gains(impulse, points, perSecond, own);
  });
}

/** Y / X within the sweep's band, nothing outside; real signals, so the other half follows. */
function divide(
  re: Float64Array,
  im: Float64Array,
  refRe: Float64Array,
  refIm: Float64Array,
  low: number,
  high: number,
): void {
  const size = re.length;
  for (let k = 0; k <= size / 2; k++) {
    const power = refRe[k] ** 2 + refIm[k] ** 2;
    const isInside = k >= low && k <= high && power > 0;
    const a = isInside ? (re[k] * refRe[k] + im[k] * refIm[k]) / power : 0;
    const b = isInside ? (im[k] * refRe[k] - re[k] * refIm[k]) / power : 0;
    re[k] = a;
    im[k] = b;
    const mirror = (size - k) % size;
    if (mirror === k) continue;
    re[mirror] = a;
    im[mirror] = -b;
  }
}

/** `own`: what the gate leaves of a perfect device at each frequency. */
function gains(
  impulse: Float64Array,
  points: readonly number[],
  perSecond: number,
  own: readonly number[],
): ResponsePoint[] {
  const gate = (k: number, atSeconds: number) =>
    gated(impulse, points[k] / perSecond, perSecond, Math.round(atSeconds * perSecond)) / own[k];
  const noise = points.map(
    (_, k) => QUIET_SECONDS.reduce((sum, at) => sum + gate(k, at) ** 2, 0) / QUIET_SECONDS.length,
  );
  return points.map((hz, k) => {
    const near = noise.slice(Math.max(0, k - NOISE_REACH), k + NOISE_REACH + 1);
    const sigma = Math.sqrt(near.reduce((sum, x) => sum + x, 0) / near.length);
    const gain = gate(k, 0);
    return { hz, gainDb: measured(db(gain), spreadDb(sigma / gain) + 0.01) };
  });
}

/** Magnitude at one frequency of a gated part of the impulse response, edges rounded off over a tenth of their length. */
function gated(impulse: Float64Array, turn: number, perSecond: number, centre: number): number {
  const before = Math.round(BEFORE_SECONDS * perSecond);
  const after = Math.round(AFTER_SECONDS * perSecond);
  const size = impulse.length;
  const stepC = Math.cos(2 * Math.PI * turn);
  const stepS = Math.sin(2 * Math.PI * turn);
  let [c, s, re, im] = [1, 0, 0, 0];
  for (let n = -before; n <= after; n++) {
    const edge = n < 0 ? (n + before) / (0.2 * before) : (after - n) / (0.2 * after);
    const weight = edge >= 1 ? 1 : 0.5 - 0.5 * Math.cos(Math.PI * edge);
    const value = weight * impulse[(centre + n + size) % size];
    re += value * c;
    im += value * s;
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
  }
  return Math.hypot(re, im);
}

function frequencies(topHz: number): number[] {
  const out: number[] = [];
  for (let k = 0; ; k++) {
    const hz = 25 * 2 ** (k / PER_OCTAVE);
    if (hz >= topHz) break;
    out.push(hz);
  }
  return [...out, topHz];
}

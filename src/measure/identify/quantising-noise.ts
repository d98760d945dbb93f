// What a word length or a law adds to a sine, against the sine's level: computed from the law's own table, no formula assumed. Noise here is all
// but the tone, its mean and its harmonics 2 to 9, as in `ToneReading.noisePower`. Not for fitting (noise-fit.ts).
import type { SegmentLaw } from '../../base/index.ts';
import { compressTable, expandTable } from '../../signal/index.ts';

/** How the converter comes to a word: rounds, drops bits, or is kept busy by noise of at least a step (then only steps count). */
export type Converter = 'round' | 'truncate' | 'dithered';

/** Mean square, full scale 1, of a sine of the given peak (dB against full scale). */
export type NoiseCurve = (levelDb: number) => number;

const PHASES = 1024;
/** Centres of equal shares of a normal distribution: noise ahead of the converter, few enough to be quick. */
const NOISE_NODES: readonly number[] = [-1.64, -0.97, -0.58, -0.28, 0, 0.28, 0.58, 0.97, 1.64];
const MOST_HARMONIC = 9;
export const CURVE_FROM_DB = -104;
export const CURVE_TO_DB = 6;

/** The curve in steps of a decibel, interpolated in decibels between them. `noise`: rms ahead of the converter, full scale 1. */
export function noiseCurve(quantise: (x: number) => number, noise = 0): NoiseCurve {
  const powers = Float64Array.from({ length: CURVE_TO_DB - CURVE_FROM_DB + 1 }, (_, k) => {
    return Math.max(1e-18, sineNoise(quantise, 10 ** ((CURVE_FROM_DB + k) / 20), noise));
  });
  const idle = Math.max(1e-18, sineNoise(quantise, 0, noise));
  return (levelDb) => {
    if (levelDb < CURVE_FROM_DB) return idle;
    const at = Math.min(CURVE_TO_DB, levelDb) - CURVE_FROM_DB;
    const low = Math.min(powers.length - 2, Math.floor(at));
    return powers[low] ** (low + 1 - at) * powers[low + 1] ** (at - low);
  };
}

/** Noise of one sine, over even phases; its harmonics are exactly orthogonal there. */
export function sineNoise(quantise: (x: number) => number, peak: number, noise = 0): number {
  const nodes = noise > 0 ? NOISE_NODES : [0];
  const error = new Float64Array(PHASES);
  let variance = 0;
  let power = 0;
  for (let n = 0; n < PHASES; n++) {
    const x = peak * Math.sin((2 * Math.PI * (n + 0.5)) / PHASES);
    let [sum, squares] = [0, 0];
    for (const node of nodes) {
      const y = quantise(x + noise * node) - x;
      sum += y;
      squares += y * y;
    }
    error[n] = sum / nodes.length;
    power += error[n] ** 2 / PHASES;
    variance += (squares / nodes.length - error[n] ** 2) / PHASES;
  }
  for (let k = 0; k <= MOST_HARMONIC; k++) power -= harmonicPower(error, k);
  return Math.max(0, power) + Math.max(0, variance);
}

function harmonicPower(error: Float64Array, order: number): number {
  let [re, im] = [0, 0];
  const stepC = Math.cos((2 * Math.PI * order) / PHASES);
  const stepS = Math.sin((2 * Math.PI * order) / PHASES);
  let [c, s] = [Math.cos((Math.PI * order) / PHASES), Math.sin((Math.PI * order) / PHASES)];
  for (let n = 0; n < PHASES; n++) {
    re += error[n] * c;
    im += error[n] * s;
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
  }
  return ((order === 0 ? 1 : 2) * (re * re + im * im)) / PHASES ** 2;
}

/** Full scale 1 in and out. */
export function linearQuantiser(bits: number, converter: Exclude<Converter, 'dithered'>): (x: number) => number {
  const top = 2 ** (bits - 1);
  const half = converter === 'round' ? 0.5 : 0;
  return (x) => Math.max(-top, Math.min(top - 1, Math.floor(x * top + half))) / top;
}

export function lawQuantiser(law: SegmentLaw, converter: Exclude<Converter, 'dithered'>): (x: number) => number {
  const toWord = compressTable(law);
  const toLinear = expandTable(law);
  const top = 2 ** (law.linearBits - 1);
  const half = converter === 'round' ? 0.5 : 0;
  return (x) => {
    const word = Math.max(-top, Math.min(top - 1, Math.floor(x * top + half)));
    return toLinear[toWord[word & (toWord.length - 1)]] / top;
  };
}

/** With noise of a step or more ahead of the converter: each place of the sine adds step squared over twelve. */
export function ditheredCurve(stepAt: (magnitude: number) => number): NoiseCurve {
  return (levelDb) => {
    const peak = 10 ** (levelDb / 20);
    let sum = 0;
    const places = 64;
    for (let n = 0; n < places; n++) {
      sum += stepAt(Math.min(1, peak * Math.sin((Math.PI * (n + 0.5)) / (2 * places)))) ** 2 / 12;
    }
    return sum / places;
  };
}

export function lawStep(law: SegmentLaw): (magnitude: number) => number {
  const top = 2 ** (law.linearBits - 1);
  return (magnitude) => {
    let step = law.segments[0].step;
    for (const segment of law.segments) if (magnitude * top >= segment.from) step = segment.step;
    return step / top;
  };
}

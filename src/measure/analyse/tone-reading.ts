// One steady tone: its level, what is left beside it, harmonics and noise apart, plain and weighted.
// AES17 takes the tone away with a notch filter of Q 1.2 to 3, which also takes some noise around it; here the sine itself is taken away by
// least squares, so that all noise counts. Bands: 20 Hz to 20 kHz, or to the capture's half rate where that is lower.
import { bandPower, powerSpectrum } from '../spectrum/power-spectrum.ts';
import { fitTones } from '../spectrum/tone-fit.ts';
import { aWeight, ccirRmsWeight } from '../spectrum/weighting.ts';
import { FULL_SCALE_SINE, type Measured, measured, NOTHING, powerDb, spreadDb } from './measured.ts';

export const BAND_LOW_HZ = 20;
export const BAND_HIGH_HZ = 20_000;
const MOST_HARMONIC = 9;

export interface ToneReading {
  readonly hz: number;
  readonly sentDb: number;
  /** of the tone, dBFS */
  readonly levelDb: Measured;
  /** all but the tone, dBFS */
  readonly residualDb: Measured;
  /** the residual without harmonics 2 to 9, dBFS */
  readonly noiseDb: Measured;
  /** residual against the whole signal, dB */
  readonly thdnDb: Measured;
  /** harmonics 2 to 9 against the tone, dB */
  readonly thdDb: Measured;
  readonly residualADb: Measured;
  readonly residualCcirDb: Measured;
  /** the residual over everything up to half the rate, as mean square without harmonics; for the identification */
  readonly noisePower: number;
  /** the same with the harmonics */
  readonly residualPower: number;
  /** highest magnitude, full scale 1 */
  readonly peak: number;
}

export function readTone(samples: Float64Array, perSecond: number, hz: number, sentDb: number): ToneReading {
  const turn = refinedTurn(samples, hz / perSecond);
  const orders = Array.from({ length: MOST_HARMONIC - 1 }, (_, k) => k + 2).filter((k) => k * turn < 0.49);
  const whole = fitTones(samples, [turn, ...orders.map((k) => k * turn)]);
  const spectrum = powerSpectrum(whole.residual, perSecond);
  const high = Math.min(BAND_HIGH_HZ, perSecond / 2);
  const noise = bandPower(spectrum, BAND_LOW_HZ, high);
  const level = whole.amplitudes[0];
  const harmonics = orders.map((k, j) => ({ hz: k * hz, power: whole.amplitudes[j + 1] ** 2 / 2 }));
  const sum = (weight: (hz: number) => number) =>
    harmonics.reduce((total, one) => total + (one.hz <= high ? one.power * weight(one.hz) : 0), 0);
  const residual = (weight: (hz: number) => number) => {
    const { power, spread } = bandPower(spectrum, BAND_LOW_HZ, high, weight);
    const total = power + sum(weight);
    return { total, spread: total > 0 ? (spread * power) / total : 0 };
  };
  const plain = residual(() => 1);
  const density = Math.max(whole.variance, localVariance(spectrum.power, spectrum.binHz, hz));
  const sigma = Math.sqrt((2 * density) / samples.length);
  const asDb = ({ total, spread }: { total: number; spread: number }) => powerDb(total, FULL_SCALE_SINE, spread);
  const signal = (level * level) / 2;
  const noisePower = bandPower(spectrum, 0, perSecond / 2).power;
  return {
    hz,
    sentDb,
    levelDb: level > 0 ? measured(20 * Math.log10(level), spreadDb(sigma / level) + 0.001) : NOTHING,
    residualDb: asDb(plain),
    noiseDb: powerDb(noise.power, FULL_SCALE_SINE, noise.spread),
    thdnDb: powerDb(plain.total, signal + plain.total, plain.spread),
    thdDb: thdOf(
      sum(() => 1),
      signal,
      sigma,
      orders.length,
    ),
    residualADb: asDb(residual(aWeight)),
    residualCcirDb: asDb(residual(ccirRmsWeight)),
    noisePower,
    residualPower: noisePower + harmonics.reduce((total, one) => total + one.power, 0),
    peak: samples.reduce((top, x) => Math.max(top, Math.abs(x)), 0),
  };
}

/** Noise alone gives every harmonic some amplitude: below three times that there is only a bound. */
function thdOf(power: number, signal: number, sigma: number, count: number): Measured {
  if (!(signal > 0) || count === 0) return NOTHING;
  const own = (count * sigma * sigma) / 2;
  if (power < 9 * own) {
    const bound = Math.max(9 * own, power);
    return bound > 0 ? { value: 10 * Math.log10(bound / signal), uncertainty: null, limit: 'at-most' } : NOTHING;
  }
  return powerDb(power, signal, 2 * Math.sqrt(own / power));
}

/** The clock may wander a little between the pilots: the phase of the two halves tells. */
function refinedTurn(samples: Float64Array, turn: number): number {
  const half = samples.length >> 1;
  const [a, b] = [samples.subarray(0, half), samples.subarray(half, 2 * half)].map((part) => fitTones(part, [turn]));
  const amplitude = Math.min(a.amplitudes[0], b.amplitudes[0]);
  if (!(amplitude * amplitude * half > 2000 * Math.max(a.variance, b.variance)) || amplitude === 0) return turn;
  const ahead = (b.phases[0] - a.phases[0]) / (2 * Math.PI) - turn * half;
  const error = (ahead - Math.round(ahead)) / half;
  return Math.abs(error) < 2e-4 * turn ? turn + error : turn;
}

/** Noise near the tone, as the variance it would have were it as strong everywhere. */
function localVariance(power: Float64Array, binHz: number, hz: number): number {
  const centre = Math.round(hz / binHz);
  const [from, to] = [Math.max(1, centre - 8), Math.min(power.length - 1, centre + 8)];
  let sum = 0;
  for (let b = from; b <= to; b++) sum += power[b];
  return (sum / (to - from + 1)) * (power.length - 1);
}

// Power of noise over frequency (averaged Hann windows that overlap by half; P. Welch, IEEE Trans. Audio 15, 1967; certainty M) and
// sums over bands, with how many independent numbers went in. Not for the level of single tones (tone-fit.ts).
import { fftPlan, fftSize } from '../../signal/index.ts';

export interface PowerSpectrum {
  readonly binHz: number;
  /** mean square in each bin; their sum is that of the samples */
  readonly power: Float64Array;
  readonly seconds: number;
}

/** `longest`: most samples in one window (a power of two); shorter stretches take shorter windows. */
export function powerSpectrum(samples: Float64Array, rateHz: number, longest = 8192): PowerSpectrum {
  const size = Math.max(64, Math.min(longest, fftSize(samples.length / 2 + 1) / 2));
  const window = Float64Array.from({ length: size }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size));
  const plan = fftPlan(size);
  const power = new Float64Array(size / 2 + 1);
  const places = Math.max(1, Math.floor((2 * (samples.length - size)) / size) + 1);
  const step = places > 1 ? (samples.length - size) / (places - 1) : 0;
  for (let k = 0; k < places; k++) {
    const from = Math.round(k * step);
    const re = new Float64Array(size);
    const im = new Float64Array(size);
    for (let n = 0; n < size && from + n < samples.length; n++) re[n] = samples[from + n] * window[n];
    plan.forward(re, im);
    for (let b = 0; b <= size / 2; b++) power[b] += re[b] * re[b] + im[b] * im[b];
  }
  // a Hann window has a mean square of 3/8
  const scale = 1 / (places * size * size * 0.375);
  for (let b = 0; b <= size / 2; b++) power[b] *= b === 0 || b === size / 2 ? scale : 2 * scale;
  return { binHz: rateHz / size, power, seconds: samples.length / rateHz };
}

export interface BandPower {
  /** mean square, weighted */
  readonly power: number;
  /** one standard deviation as a share of `power`, were the residual noise of this spectrum */
  readonly spread: number;
}

/** `weight` is a factor of power at a frequency. Edges take their share of a bin. */
export function bandPower(
  spectrum: PowerSpectrum,
  fromHz: number,
  toHz: number,
  weight: (hz: number) => number = () => 1,
): BandPower {
  const { binHz, power, seconds } = spectrum;
  let sum = 0;
  let squares = 0;
  for (let b = 0; b < power.length; b++) {
    const low = Math.max(fromHz, (b - 0.5) * binHz);
    const high = Math.min(toHz, (b + 0.5) * binHz);
    if (high <= low) continue;
    const value = ((power[b] * (high - low)) / binHz) * weight(Math.max(1, b * binHz));
    sum += value;
    squares += value * value;
  }
  if (sum === 0) return { power: 0, spread: 0 };
  // noise of bandwidth B over T seconds is known to 1/sqrt(B T); lines count as narrow noise, which is on the safe side
  const bandHz = (binHz * sum * sum) / squares;
  return { power: sum, spread: 1 / Math.sqrt(Math.max(1, bandHz * seconds)) };
}

// Cross-correlation by Fourier transform, plain or whitened, and the peak between the samples. Finds where one stretch
// lies in another; says nothing about equality.
import { type Fft, fftPlan, fftSize } from './fft.ts';

export interface Correlation {
  /** values[n] belongs to lag firstLag + n */
  readonly values: Float64Array;
  readonly firstLag: number;
}

/** The whitened cross-spectrum of a pair, kept so that the peak can be read between the samples. */
export interface CrossSpectrum {
  readonly size: number;
  readonly re: Float64Array;
  readonly im: Float64Array;
}

export interface Peak {
  /** may be fractional */
  readonly lag: number;
  readonly value: number;
}

/** c[k] = sum over n of a[n + k] * b[n], for k = -(b.length - 1) .. a.length - 1. */
export function crossCorrelate(a: Float64Array, b: Float64Array): Correlation {
  const spectrum = crossSpectrum(a, b);
  return correlationOf(spectrum, -(b.length - 1), a.length - 1);
}

/** Spectrum of the cross-correlation of a and b, zero-padded so that no lag wraps. A plan at hand saves its tables; one
 * of a.length is enough where only lags from 0 to a.length - b.length are asked for. */
export function crossSpectrum(
  a: Float64Array,
  b: Float64Array,
  plan: Fft = fftPlan(fftSize(a.length + b.length)),
): CrossSpectrum {
  const re = new Float64Array(plan.size);
  const im = new Float64Array(plan.size);
  re.set(a);
  im.set(b);
  plan.forward(re, im);
  return { size: plan.size, ...productOfPacked(re, im) };
}

/** A = (Z[k] + conj Z[-k]) / 2, B = (Z[k] - conj Z[-k]) / 2i; the product is A conj(B). */
function productOfPacked(re: Float64Array, im: Float64Array): { re: Float64Array; im: Float64Array } {
  const size = re.length;
  const outRe = new Float64Array(size);
  const outIm = new Float64Array(size);
  for (let k = 0; k < size; k++) {
    const m = (size - k) & (size - 1);
    const ar = (re[k] + re[m]) / 2;
    const ai = (im[k] - im[m]) / 2;
    const br = (im[k] + im[m]) / 2;
    const bi = (re[m] - re[k]) / 2;
    outRe[k] = ar * br + ai * bi;
    outIm[k] = ai * br - ar * bi;
  }
  return { re: outRe, im: outIm };
}

/**
 * Phase transform: every component brought towards magnitude 1, so that the peak is sharp whatever the spectrum.
 * `floor` (relative to the mean magnitude) keeps empty bands from becoming noise.
 */
export function whiten(spectrum: CrossSpectrum, floor = 0.01): CrossSpectrum {
  const { size } = spectrum;
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  const magnitude = new Float64Array(size);
  let sum = 0;
  for (let k = 0; k < size; k++) sum += magnitude[k] = Math.sqrt(spectrum.re[k] ** 2 + spectrum.im[k] ** 2);
  if (sum === 0) return { size, re, im };
  const least = (floor * sum) / size;
  for (let k = 0; k < size; k++) {
    const factor = 1 / (magnitude[k] + least);
    re[k] = spectrum.re[k] * factor;
    im[k] = spectrum.im[k] * factor;
  }
  return { size, re, im };
}

export function correlationOf(
  spectrum: CrossSpectrum,
  firstLag: number,
  lastLag: number,
  plan: Fft = fftPlan(spectrum.size),
): Correlation {
  const { size } = spectrum;
  const re = spectrum.re.slice();
  const im = spectrum.im.slice();
  plan.inverse(re, im);
  const values = new Float64Array(lastLag - firstLag + 1);
  for (let lag = firstLag; lag <= lastLag; lag++) values[lag - firstLag] = re[((lag % size) + size) % size];
  return { values, firstLag };
}

/** Whitened correlation of a and b over lags -maxLag..maxLag. */
export function gccPhat(a: Float64Array, b: Float64Array, maxLag: number): Correlation {
  return correlationOf(whiten(crossSpectrum(a, b)), -maxLag, maxLag);
}

/** The largest magnitude, sign kept: a negative value means opposite polarity. First one on ties. */
export function peakOf(correlation: Correlation): Peak {
  let best = 0;
  for (let n = 1; n < correlation.values.length; n++) {
    if (Math.abs(correlation.values[n]) > Math.abs(correlation.values[best])) best = n;
  }
  return { lag: correlation.firstLag + best, value: correlation.values[best] ?? 0 };
}

/** Peak against the spread of everything further than `clear` lags away, in standard deviations. */
export function peakSignificance(correlation: Correlation, peak: Peak, clear: number): number {
  let sum = 0;
  let count = 0;
  for (let n = 0; n < correlation.values.length; n++) {
    if (Math.abs(correlation.firstLag + n - peak.lag) <= clear) continue;
    sum += correlation.values[n] ** 2;
    count++;
  }
  return count === 0 || sum === 0 ? 0 : Math.abs(peak.value) / Math.sqrt(sum / count);
}

/**
 * The peak between the samples: the trigonometric interpolation of the correlation, climbed within one sample of the
 * whole-sample peak by golden section to 1e-4 sample.
 */
export function fractionalPeak(spectrum: CrossSpectrum, whole: Peak): Peak {
  const sign = Math.sign(whole.value) || 1;
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = whole.lag - 1;
  let high = whole.lag + 1;
  let p = high - ratio * (high - low);
  let q = low + ratio * (high - low);
  let atP = sign * valueAt(spectrum, p);
  let atQ = sign * valueAt(spectrum, q);
  while (high - low > 1e-4) {
    if (atP > atQ) {
      high = q;
      q = p;
      atQ = atP;
      p = high - ratio * (high - low);
      atP = sign * valueAt(spectrum, p);
    } else {
      low = p;
      p = q;
      atP = atQ;
      q = low + ratio * (high - low);
      atQ = sign * valueAt(spectrum, q);
    }
  }
  const lag = (low + high) / 2;
  return { lag, value: valueAt(spectrum, lag) };
}

/** Correlation at any lag, from the positive half of the spectrum (the signals are real). The Nyquist bin is left out. */
function valueAt(spectrum: CrossSpectrum, lag: number): number {
  const { re, im, size } = spectrum;
  const step = (2 * Math.PI * lag) / size;
  const stepC = Math.cos(step);
  const stepS = Math.sin(step);
  let sum = re[0] / 2;
  let c = 1;
  let s = 0;
  for (let k = 1; k < size / 2; k++) {
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
    sum += re[k] * c - im[k] * s;
  }
  return (2 * sum) / size;
}

// Lines in the spectrum of level counts: what a comb leaves, of whatever gain. Mathematics: lattice-fit.ts.
import { fftSize, powerSpectrum } from '../../signal/index.ts';
import type { Range } from './level-range.ts';

export function residualOf({ counts }: Range): { values: Float64Array; lowestFrequency: number } {
  const reach = Math.min(512, Math.max(4, counts.length >> 5));
  const values = new Float64Array(counts.length);
  for (let i = 0; i < values.length; i++) values[i] = Math.sqrt(counts[i]);
  const means = movingMean(values, reach);
  for (let i = 0; i < values.length; i++) {
    values[i] -= means[i];
    means[i] = values[i] * values[i];
  }
  const spreads = movingMean(means, 4 * reach);
  for (let i = 0; i < values.length; i++) {
    const scaled = spreads[i] > 0 ? values[i] / Math.sqrt(spreads[i]) : 0;
    values[i] = Math.max(-4, Math.min(4, scaled));
  }
  return { values, lowestFrequency: Math.max(4 / (2 * reach + 1), 8 / counts.length) };
}

function movingMean(values: Float64Array, reach: number): Float64Array {
  const n = values.length;
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i] + values[i];
  const means = new Float64Array(n);
  const meanAt = (i: number) => {
    const from = Math.max(0, i - reach);
    const to = Math.min(i + reach + 1, n);
    return (sums[to] - sums[from]) / (to - from);
  };
  const inner = Math.min(n, reach);
  const outer = Math.max(inner, n - reach - 1);
  for (let i = 0; i < inner; i++) means[i] = meanAt(i);
  const share = 1 / (2 * reach + 1);
  for (let i = inner; i < outer; i++) means[i] = (sums[i + reach + 1] - sums[i - reach]) * share;
  for (let i = outer; i < n; i++) means[i] = meanAt(i);
  return means;
}

export interface Line {
  readonly frequency: number;
  readonly power: number;
}

export interface Spectrum {
  /** strongest first; at least one */
  readonly lines: readonly Line[];
  readonly bins: number;
  readonly lnChance: number;
}

const BANDS = 32;

export function spectrumOf(values: Float64Array, lowestFrequency: number): Spectrum {
  // Many levels make lines so strong that the loss between two bins does not matter.
  const size = fftSize(values.length > 8192 ? values.length : 2 * values.length);
  const powers = powerSpectrum(values, size);
  let energy = 0;
  for (let i = 0; i < values.length; i++) energy += values[i] * values[i];
  const share = 1 / (energy || 1);
  for (let k = 0; k < powers.length; k++) powers[k] *= share;
  const first = Math.max(1, Math.ceil(lowestFrequency * size));
  flatten(powers, first);
  const lines = linesOf(powers, first, size);
  const bins = powers.length - first;
  return { lines, bins, lnChance: Math.min(0, Math.log(bins) - lines[0].power) };
}

/** Divides each band by its own level: the median of an exponential distribution is ln 2 of its mean. Never raises a band. */
function flatten(powers: Float64Array, first: number): void {
  const width = Math.max(128, Math.ceil((powers.length - first) / BANDS));
  for (let from = first; from < powers.length; from += width) {
    const band = powers.subarray(from, Math.min(powers.length, from + width));
    const some = new Float64Array(Math.ceil(band.length / 8));
    for (let i = 0; i < some.length; i++) some[i] = band[8 * i];
    some.sort();
    const share = Math.min(1, Math.LN2 / some[some.length >> 1]);
    for (let i = 0; i < band.length; i++) band[i] *= share;
  }
}

function linesOf(powers: Float64Array, first: number, size: number): Line[] {
  let top = first;
  for (let k = first; k < powers.length; k++) if (powers[k] > powers[top]) top = k;
  const strongest = { frequency: top / size, power: powers[top] ?? 0 };
  const least = Math.max(20, strongest.power / 30);
  const peaks: Line[] = [];
  for (let k = first; k < powers.length; k++) {
    const isPeak = powers[k] > least && powers[k] >= (powers[k - 1] ?? 0) && powers[k] >= (powers[k + 1] ?? 0);
    if (isPeak) peaks.push({ frequency: k / size, power: powers[k] });
  }
  peaks.sort((a, b) => b.power - a.power);
  const strong = withoutSidelobes(peaks, 6 / size);
  // Of the many lines of a wide comb the lowest is the one wanted, whatever its rank.
  const lowest = strong.toSorted((a, b) => a.frequency - b.frequency).slice(0, 3);
  return [...new Set([strong[0] ?? strongest, ...strong.slice(0, 6), ...lowest])];
}

/** Strongest first: a line beside a stronger one is the ripple of its edges. */
function withoutSidelobes(lines: readonly Line[], reach: number): Line[] {
  const kept: Line[] = [];
  for (const line of lines) {
    if (kept.length >= 40) break;
    if (kept.every(({ frequency }) => Math.abs(frequency - line.frequency) > reach)) kept.push(line);
  }
  return kept;
}

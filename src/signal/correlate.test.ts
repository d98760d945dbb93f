// Correlation against scipy.signal.correlate (values below), and peaks of signals delayed by a known amount.
import { describe, expect, it } from 'vitest';
import {
  correlationOf,
  crossCorrelate,
  crossSpectrum,
  fractionalPeak,
  gccPhat,
  peakOf,
  peakSignificance,
  whiten,
} from './correlate.ts';
import { Random } from './random.ts';
import { fractionalDelay } from './resample.ts';

const random = new Random(5);
const noise = Float64Array.from({ length: 8192 }, () => random.gaussian());

it('gives what scipy.signal.correlate gives in full mode', () => {
  const { values, firstLag } = crossCorrelate(Float64Array.of(1, 2, -3, 0.5, 4), Float64Array.of(2, -1, 0.25));
  expect(firstLag).toBe(-2);
  expect(values).toHaveLength(SCIPY.length);
  for (const [n, v] of SCIPY.entries()) expect(values[n]).toBeCloseTo(v, 12);
});

describe('peaks', () => {
  it.each([-40, 0, 3, 77])('finds a delay of %i frames, upright and inverted', (delay) => {
    const late = fractionalDelay(noise, delay);
    const upright = peakOf(gccPhat(late, noise, 200));
    expect(upright.lag).toBe(delay);
    expect(upright.value).toBeGreaterThan(0);
    expect(
      peakOf(
        gccPhat(
          late.map((v) => -v),
          noise,
          200,
        ),
      ).value,
    ).toBeLessThan(0);
  });

  it.each([0.5, -3.27, 12.901])('finds a delay of %f frames to 0.01', (delay) => {
    const spectrum = whiten(crossSpectrum(fractionalDelay(noise, delay), noise));
    const peak = fractionalPeak(spectrum, peakOf(correlationOf(spectrum, -50, 50)));
    expect(Math.abs(peak.lag - delay)).toBeLessThan(0.01);
  });

  it('has no significance between strangers', () => {
    const other = Float64Array.from({ length: 8192 }, () => random.gaussian());
    const alike = gccPhat(fractionalDelay(noise, 9), noise, 4000);
    const strange = gccPhat(other, noise, 4000);
    expect(peakSignificance(alike, peakOf(alike), 8)).toBeGreaterThan(50);
    // the largest of 8001 normal values lies near 4
    expect(peakSignificance(strange, peakOf(strange), 8)).toBeLessThan(6);
    expect(peakOf(gccPhat(new Float64Array(64), new Float64Array(64), 9)).value).toBe(0);
  });
});

const SCIPY = [0.25, -0.5, -0.75, 7.125, -5.5, -3.0, 8.0];

// The reader between samples against sines, whose values anywhere are known.
import { expect, it } from 'vitest';
import { warpBy } from './warp.ts';

it.each([1, 1.000037, 0.91875, 48_000 / 44_100])('reads a sine on a grid of step %f to -90 dB', (step) => {
  const w = 2 * Math.PI * 0.31; // 0.62 of the Nyquist frequency
  const x = Float64Array.from({ length: 4000 }, (_, n) => Math.sin(w * n));
  const y = warpBy(step)(x, 200.37, 2000);
  const worst = y.reduce((most, v, n) => Math.max(most, Math.abs(v - Math.sin(w * (200.37 + n * step)))), 0);
  expect(worst).toBeLessThan(3.2e-5);
});

it('gives the samples themselves on their own grid', () => {
  const x = Float64Array.from({ length: 300 }, (_, n) => (n * 7919) % 1000);
  const y = warpBy(1)(x, 100, 100);
  expect(Math.max(...y.map((v, n) => Math.abs(v - x[100 + n])))).toBeLessThan(1e-9);
});

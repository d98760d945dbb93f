// The transform against numpy.fft of numpy 1.24 (values below) and against itself backwards.
import { expect, it } from 'vitest';
import { fftPlan, fftSize, powerSpectrum } from './fft.ts';
import { Random } from './random.ts';

it('gives what numpy.fft.fft gives', () => {
  const re = Float64Array.of(1, -2, 3.5, 0, 7, 1, -1, 2);
  const im = Float64Array.of(0, 1, 0, -1, 2, 0, 0.5, 0);
  fftPlan(8).forward(re, im);
  EXPECTED.forEach(([r, i], k) => {
    expect(re[k]).toBeCloseTo(r, 12);
    expect(im[k]).toBeCloseTo(i, 12);
  });
});

it.each([1, 2, 64, 4096, 65_536])('comes back from %i bins to rounding', (size) => {
  const random = new Random(size);
  const x = Float64Array.from({ length: size }, () => random.gaussian());
  const re = x.slice();
  const im = new Float64Array(size);
  const plan = fftPlan(size);
  plan.forward(re, im);
  const energy = re.reduce((sum, v, k) => sum + v * v + im[k] ** 2, 0) / size;
  expect(energy / x.reduce((sum, v) => sum + v * v, 0)).toBeCloseTo(1, 10); // Parseval
  plan.inverse(re, im);
  expect(Math.max(...re.slice(0, 1000).map((v, n) => Math.abs(v - x[n])))).toBeLessThan(1e-12);
});

it.each([2, 8, 64, 4096])('the powers of %i real values are those of the whole transform', (size) => {
  const random = new Random(size);
  for (const count of [size, size - 1, size / 2]) {
    const x = Float64Array.from({ length: count }, () => random.gaussian());
    const re = new Float64Array(size);
    const im = new Float64Array(size);
    re.set(x);
    fftPlan(size).forward(re, im);
    const powers = powerSpectrum(x, size);
    expect(powers.length).toBe(size / 2 + 1);
    for (const [k, power] of powers.entries()) expect(power).toBeCloseTo(re[k] ** 2 + im[k] ** 2, 7);
  }
});

it('refuses other lengths', () => {
  expect(() => fftPlan(12)).toThrow(/size 12/);
  expect(() => fftPlan(0)).toThrow();
  expect([0, 1, 2, 3, 1025].map(fftSize)).toEqual([1, 1, 2, 4, 2048]);
});

const EXPECTED = [
  [11.5, 2.5],
  [-7.207106781186548, -1.5502525316941664],
  [7.5, 4.5],
  [-4.792893218813452, 4.621320343559643],
  [9.5, 2.5],
  [-5.792893218813452, -11.449747468305834],
  [3.5, -1.5],
  [-6.207106781186548, 0.37867965644035717],
] as const;

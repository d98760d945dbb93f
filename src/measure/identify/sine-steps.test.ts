// Against sums done the long way: the harmonics of a staircase by a plain transform, the whole power of equal steps (step squared over twelve).
import { describe, expect, it } from 'vitest';
import { besselJ, sineTerms, stepEnvelope, stepHarmonics } from './sine-steps.ts';

const PHASES = 2048;
const NODES_PER_SIGMA = 50;

/** Peak of one harmonic of the error of a staircase with risers at `offset`, averaged over noise ahead of it. */
function plainHarmonic(peak: number, offset: number, sigma: number, order: number): number {
  let [re, im] = [0, 0];
  for (let n = 0; n < PHASES; n++) {
    const angle = (2 * Math.PI * (n + 0.5)) / PHASES;
    let error = 0;
    let weights = 0;
    for (let node = -4 * NODES_PER_SIGMA; node <= 4 * NODES_PER_SIGMA; node++) {
      const weight = Math.exp(-((node / NODES_PER_SIGMA) ** 2) / 2);
      const x = peak * Math.sin(angle) + offset + (sigma * node) / NODES_PER_SIGMA;
      error += weight * (Math.floor(x) + 0.5 - x);
      weights += weight;
    }
    re += ((error / weights) * Math.cos(order * angle)) / PHASES;
    im += ((error / weights) * Math.sin(order * angle)) / PHASES;
  }
  return 2 * Math.hypot(re, im);
}

describe('harmonics of a sine through equal steps', () => {
  it.each([
    [0.8, 0, 0.2],
    [3.3, 0.25, 0.2],
    [7.1, 0.5, 0.16],
  ])('%s steps high, risers %s off, noise of %s steps', (peak, offset, sigma) => {
    const made = stepHarmonics(sineTerms(peak, 12), offset, sigma);
    for (const order of [2, 3, 4, 5, 9, 12]) {
      expect(Math.abs(made[order] - plainHarmonic(peak, offset, sigma, order))).toBeLessThan(1e-3);
    }
  });

  it('holds the whole power of the steps over all orders', () => {
    const sum = stepEnvelope(10, 0, 2000).reduce((all, power) => all + power, 0);
    // six terms of the series of 1 / j^2 are 0.9066 of it
    expect(sum / (0.9066 / 12)).toBeCloseTo(1, 3);
  });

  it('runs as the mean of the harmonics does', () => {
    const band = (powers: ArrayLike<number>) =>
      Array.from(powers)
        .slice(20, 60)
        .reduce((all, power) => all + power, 0);
    const offsets = Array.from({ length: 16 }, (_, k) => k / 16);
    const mean = offsets.map((offset) => band(stepHarmonics(sineTerms(20, 60), offset, 0.1).map((x) => x ** 2 / 2)));
    expect(band(stepEnvelope(20, 0.1, 60)) / (mean.reduce((all, x) => all + x, 0) / 16)).toBeCloseTo(1, 1);
  });

  it('has the Bessel functions of the tables', () => {
    // J0(1), J1(1), J5(10), J20(30): Abramowitz and Stegun, tables 9.1 and 9.4 (certainty M)
    expect(besselJ(1, 1)[0]).toBeCloseTo(0.7651976866, 9);
    expect(besselJ(1, 1)[1]).toBeCloseTo(0.4400505857, 9);
    expect(besselJ(10, 5)[5]).toBeCloseTo(-0.2340615282, 9);
    expect(besselJ(0, 3)[0]).toBe(1);
  });
});

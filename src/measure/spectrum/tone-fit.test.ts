// Truth: sines and noise that the test makes. Tolerances: rounding of doubles; for noise three standard deviations of the Cramer-Rao bound.
import { describe, expect, it } from 'vitest';
import { Random } from '../../signal/index.ts';
import { bandPower, powerSpectrum } from './power-spectrum.ts';
import { fitTones } from './tone-fit.ts';

const N = 30_000;
const turns = [997 / 48_000, 1994 / 48_000, 13_001 / 48_000];

describe('tones', () => {
  it('are found exactly and leave nothing', () => {
    const x = Float64Array.from({ length: N }, (_, n) =>
      turns.reduce((sum, turn, k) => sum + 0.1 ** k * Math.sin(2 * Math.PI * turn * n + k), 0.01),
    );
    const fit = fitTones(x, turns);
    expect(fit.mean).toBeCloseTo(0.01, 10);
    for (const k of [0, 1, 2]) {
      expect(fit.amplitudes[k]).toBeCloseTo(0.1 ** k, 10);
      expect(fit.phases[k]).toBeCloseTo(k, 7);
    }
    expect(fit.variance).toBeLessThan(1e-20);
  });

  it('under noise err no more than theory allows', () => {
    const random = new Random(9);
    const x = Float64Array.from(
      { length: N },
      (_, n) => Math.sin(2 * Math.PI * turns[0] * n) + 0.1 * random.gaussian(),
    );
    const fit = fitTones(x, turns);
    const bound = 0.1 * Math.sqrt(2 / N);
    expect(Math.abs(fit.amplitudes[0] - 1)).toBeLessThan(3 * bound);
    expect(Math.abs(Math.sqrt(fit.variance) - 0.1)).toBeLessThan(3 * 0.1 * Math.sqrt(1 / (2 * N)));
  });
});

describe('power of noise', () => {
  const random = new Random(4);
  const noise = Float64Array.from({ length: 100_000 }, () => random.gaussian());
  const spectrum = powerSpectrum(noise, 48_000);

  it('over the whole band is the mean square', () => {
    const { power, spread } = bandPower(spectrum, 0, 24_000);
    expect(Math.abs(power - 1)).toBeLessThan(3 * spread);
    expect(spread).toBeLessThan(0.01);
  });

  it.each([
    [20, 20_000],
    [1000, 2000],
    [5000, 5050],
  ])('from %d to %d Hz is its share of the band', (from, to) => {
    const { power, spread } = bandPower(spectrum, from, to);
    const share = (to - from) / 24_000;
    expect(Math.abs(power / share - 1)).toBeLessThan(3 * spread);
  });

  it('of a sine lies where the sine is', () => {
    const sine = Float64Array.from({ length: 50_000 }, (_, n) => Math.sin(2 * Math.PI * turns[0] * n));
    const of = powerSpectrum(sine, 48_000);
    expect(bandPower(of, 900, 1100).power).toBeCloseTo(0.5, 3);
    expect(bandPower(of, 2000, 20_000).power).toBeLessThan(1e-9);
  });
});

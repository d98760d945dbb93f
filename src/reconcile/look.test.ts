import { describe, expect, test } from 'vitest';
import { markConcealed } from './conceal-marks.ts';
import { LOOK_HELD, LOOK_MEAN, LOOK_NEAR_MEAN, LOOK_ZERO, LOOKS, lookChance, lookOf, stepOf } from './look.ts';
import { noise, seeded } from './testing/reads.ts';

describe('the look of a sample', () => {
  const both = LOOK_MEAN | LOOK_NEAR_MEAN;
  test.each([
    [[10, 15, 21], both],
    [[10, 16, 21], both],
    [[10, 14, 20], LOOK_NEAR_MEAN],
    [[10, 13, 20], 0],
    [[10, 10, 40], LOOK_HELD],
    [[10, 0, 40], LOOK_ZERO],
    [[0, 0, 0], both | LOOK_HELD | LOOK_ZERO],
  ])('of the middle of %j is %i', (samples, look) => {
    expect(lookOf(Int32Array.from(samples), 1, 0, 3, 1)).toBe(look);
  });

  test('at an edge nothing is said about the missing neighbour', () => {
    expect(lookOf(Int32Array.from([5, 5, 5]), 0, 0, 3, 1)).toBe(0);
    expect(lookOf(Int32Array.from([5, 5, 5]), 2, 0, 3, 1)).toBe(LOOK_HELD);
  });

  test('the step of 16 bit samples in 24 is 256, and looks scale with it', () => {
    const plane = noise(seeded(1), 300, 900).map((v) => v << 8);
    expect(stepOf([plane], 0, 300)).toBe(256);
    expect(lookOf(Int32Array.from([10, 15, 21].map((v) => v << 8)), 1, 0, 3, 256)).toBe(both);
  });

  test('chance of an exact mean in noise of spread s is near that of the normal law', () => {
    // second difference of noise: spread s * sqrt(6); three values within 1 step of zero: 3 / (s * sqrt(6) * sqrt(2 pi))
    const plane = noise(seeded(2), 200_000, 100);
    const chance = lookChance([plane, plane], [[1, 199_999]], 0, 200_000, 1);
    const expected = 3 / (100 * Math.sqrt(6) * Math.sqrt(2 * Math.PI));
    // 200,000 trials: binomial spread 3.5 %, tolerance 4 spreads
    expect(Math.abs(chance.byRead[0][LOOKS.indexOf(LOOK_MEAN)] / expected - 1)).toBeLessThan(0.14);
  });
});

describe('marks of concealment', () => {
  const chance = Float64Array.of(0.05, 0.08, 0.02, 0.01);
  const looks = (text: string) => Uint8Array.from(text, (c) => (c === 'm' ? LOOK_MEAN | LOOK_NEAR_MEAN : 0));

  test('a burst is marked, its chance-looking surroundings are not', () => {
    const { odds } = markConcealed(looks('......................mmmmmmmm......................'), chance);
    expect([...odds.keys()].filter((k) => odds[k] > 3)).toEqual([22, 23, 24, 25, 26, 27, 28, 29]);
  });

  test('a lattice shared by two reads is marked at every second place', () => {
    const { odds } = markConcealed(looks('m.m.m.m.m.m.m.m.'), chance);
    expect([...odds.keys()].filter((k) => odds[k] > 3)).toEqual([0, 2, 4, 6, 8, 10, 12, 14]);
  });

  test('odds of one sample: 0.9 / chance, shared among four looks', () => {
    const { odds } = markConcealed(looks('m'), chance);
    expect(odds[0]).toBeCloseTo(Math.log(0.9 / 0.05 / 4), 10);
  });
});

// What a sample costs, where it can be told by other means: Gaussian spreads, flat sound, the steps of a law.
import { describe, expect, it } from 'vitest';
import { Random } from '../../signal/index.ts';
import { surprises } from './repeat-chance.ts';

const FRAMES = 6400;
const ASKED = { step: 1, leastChance: 0, near: 256 };

/** Nats per sample of sound that nothing predicts: what is missed is the sound itself. */
function meanOf(samples: Int32Array, asked = ASKED): number {
  const costs = surprises(samples, 0, Float64Array.from(samples), asked);
  return costs.reduce((a, b) => a + b, 0) / costs.length;
}

const noise = (spread: number, distance = 1) => {
  const random = new Random(4);
  return Int32Array.from({ length: FRAMES }, () => distance * Math.round((spread * random.gaussian()) / distance));
};

/** Entropy of a Gaussian that was rounded, summed over its values. */
function entropyOf(spread: number): number {
  const counts = new Map<number, number>();
  for (const x of noise(spread)) counts.set(x, (counts.get(x) ?? 0) + 1);
  return Array.from(counts.values(), (n) => (-n / FRAMES) * Math.log(n / FRAMES)).reduce((a, b) => a + b, 0);
}

describe('nats per sample', () => {
  it.each([1, 2, 8, 40])('of noise of %d steps are its entropy, from a quarter less to a tenth more', (spread) => {
    const entropy = entropyOf(spread);
    expect(meanOf(noise(spread))).toBeLessThan(1.1 * entropy);
    expect(meanOf(noise(spread))).toBeGreaterThan(0.75 * entropy);
  });

  it('are none of sound that stands still, and next to none of a jump in it', () => {
    expect(meanOf(new Int32Array(FRAMES))).toBeLessThan(0.002);
    expect(meanOf(new Int32Array(FRAMES).map((_, i) => (i % 40 === 0 ? 900 : 0)))).toBeLessThan(0.01);
  });

  it('count the distance of the values, where a law has made it wide', () => {
    expect(meanOf(noise(1024, 256))).toBeCloseTo(meanOf(noise(4)), 1);
  });

  it('count the step of a shorter word', () => {
    const shifted = noise(40).map((x) => 256 * x);
    const costs = surprises(shifted, 0, Float64Array.from(noise(40)), { ...ASKED, step: 256 });
    expect(costs.reduce((a, b) => a + b, 0) / FRAMES).toBeCloseTo(meanOf(noise(40)), 6);
  });

  it('are never more than those of the least chance', () => {
    expect(meanOf(noise(900), { ...ASKED, leastChance: 0.25 })).toBeCloseTo(Math.log(4), 6);
  });
});

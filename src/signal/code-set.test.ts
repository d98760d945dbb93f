// Counting against a plain Map; block sizes, limits, words out of range; divisors by hand.
import { describe, expect, it } from 'vitest';
import { CodeSetSession, countValues, divisor, unusedLowBits } from './code-set.ts';
import { Random } from './random.ts';

function referenceCounts(samples: Int32Array): [number, number][] {
  const counts = new Map<number, number>();
  for (const value of samples) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts].sort((a, b) => a[0] - b[0]);
}

const noise = (bits: number, count: number, seed = 1): Int32Array => {
  const random = new Random(seed);
  return Int32Array.from({ length: count }, () => random.integer(2 ** bits) - 2 ** (bits - 1));
};

describe('CodeSetSession', () => {
  it.each([
    [8, 3000],
    [16, 20_000],
    [24, 20_000],
    [32, 5000],
  ])('%i bits: counts as a plain map does, whatever the block size', (bits, count) => {
    const samples = noise(bits, count);
    samples.set([-(2 ** (bits - 1)), 2 ** (bits - 1) - 1, 0, -1, 0], 10);
    for (const size of [1, 7, 4096, count]) {
      const session = new CodeSetSession(bits);
      for (let at = 0; at < count; at += size) session.push(samples.subarray(at, at + size));
      const set = session.finish();
      if (!set) return expect.fail('gave up');
      expect(Array.from(set.values, (value, n) => [value, set.counts[n]]).join()).toBe(referenceCounts(samples).join());
      expect([set.samples, set.outOfRange]).toEqual([count, 0]);
    }
  });

  it('gives up beyond the limit, not at it', () => {
    const session = new CodeSetSession(24, { limit: 1000 });
    session.push(Int32Array.from({ length: 2000 }, (_, n) => (n % 1000) * 4096 + 2));
    expect(session.finish()?.values.length).toBe(1000);
    session.push(Int32Array.of(1));
    expect(session.gaveUp).toBe(true);
    expect(session.finish()).toBeUndefined();
    session.push(noise(24, 100));
    expect(session.finish()).toBeUndefined();
  });

  it('moves over without loss when a short word in a wide container turns out to be a long one', () => {
    const short = noise(16, 5000, 2).map((x) => x * 256);
    const long = noise(24, 5000, 3);
    const session = new CodeSetSession(24);
    session.push(short);
    expect(session.finish()?.values.join()).toBe(
      referenceCounts(short)
        .map(([value]) => value)
        .join(),
    );
    session.push(long);
    const set = session.finish();
    if (!set) return expect.fail('gave up');
    const both = referenceCounts(Int32Array.of(...short, ...long));
    expect(Array.from(set.values, (value, n) => [value, set.counts[n]]).join()).toBe(both.join());
  });

  it('keeps values that hash alike apart', () => {
    const samples = Int32Array.from({ length: 8192 }, (_, n) => (n % 4096) * 2048 - 2 ** 22 + 1);
    expect(countValues(samples, 24)?.values.length).toBe(4096);
  });

  it.each([16, 20])('%i bits: says how many samples did not fit', (bits) => {
    const set = countValues(Int32Array.of(0, 2 ** (bits - 1), -(2 ** (bits - 1)) - 1, 5), bits);
    expect(set).toMatchObject({ samples: 4, outOfRange: 2 });
    expect([...(set?.values ?? [])]).toEqual([0, 5]);
  });

  it('has nothing to say about an empty stream', () => {
    expect(new CodeSetSession(16).finish()).toMatchObject({ samples: 0, outOfRange: 0 });
  });
});

describe('divisor and unused bits', () => {
  it.each([
    [[0, 64, -128, 192], 64, 6],
    [[6, -10], 2, 1],
    [[-32768, 0], 32768, 15],
    [[7, 14], 7, 0],
    [[0], 0, 32],
    [[], 0, 32],
  ])('%j: %i, %i', (values, common, unused) => {
    expect(divisor(Int32Array.from(values))).toBe(common);
    expect(unusedLowBits(Int32Array.from(values))).toBe(unused);
  });
});

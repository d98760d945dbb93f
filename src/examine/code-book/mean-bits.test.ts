// Means as bits, and rows of them on lattices, against plain counting by the same definitions, one code at a time.
import { describe, expect, it } from 'vitest';
import { Random } from '../../signal/index.ts';
import { codeMeanRule } from '../concealment/hits.ts';
import { judgeCodeLattices } from './code-lattice.ts';
import { CodeWindows, MARGIN } from './code-windows.ts';
import { meanBits, ROUNDINGS } from './mean-bits.ts';

const codes = (frames: number, spread: number, seed = 3) => {
  const random = new Random(seed);
  return Int32Array.from({ length: frames }, () => random.integer(2 * spread + 1) - spread);
};

/** How a deck rounds the mean of two codes. */
const ROUND: Record<(typeof ROUNDINGS)[number], (sum: number) => number> = {
  down: (sum) => Math.floor(sum / 2),
  up: (sum) => Math.ceil(sum / 2),
  'toward zero': (sum) => Math.trunc(sum / 2),
};

describe('means as bits', () => {
  it.each([33, 64, 1000, 4097])('of %i codes, each as by its definition', (frames) => {
    const x = codes(frames, 3);
    const { any, one, exact } = meanBits(x);
    const hits = new Int32Array(frames);
    const marks = new Uint8Array(frames);
    const count = codeMeanRule.scan(x, frames - 2, 1, hits);
    for (let k = 0; k < count; k++) marks[hits[k] + 1] = 1;
    for (let i = 0; i < frames; i++) {
      const isInner = i > 0 && i < frames - 1;
      const sum = x[i - 1] + x[i + 1];
      expect(any.at(i)).toBe(marks[i]);
      expect(exact.at(i)).toBe(isInner && 2 * x[i] === sum ? 1 : 0);
      for (const [k, rounding] of ROUNDINGS.entries()) {
        expect(one[k].at(i)).toBe(isInner && x[i] === ROUND[rounding](sum) ? 1 : 0);
      }
    }
    for (const [from, to] of [
      [0, frames],
      [5, 32],
      [31, 33],
      [7, 7],
    ]) {
      expect(any.count(from, to)).toBe(marks.subarray(from, to).reduce((sum, one) => sum + one, 0));
      const pairs = marks.subarray(from, to).filter((one, i) => one === 1 && marks[from + i + 2] === 1);
      expect(any.together(from, to, 2)).toBe(pairs.length);
    }
  });
});

describe('lattices', () => {
  const cover = (x: Int32Array, first: number, last: number, period: number, rounding: (sum: number) => number) => {
    for (let i = first; i <= last; i += period) x[i] = rounding(x[i - 1] + x[i + 1]);
  };

  it.each([
    [2, 'down'],
    [3, 'up'],
    [5, 'toward zero'],
    [15, 'down'],
    [18, 'up'],
  ] as const)('of period %i, rounded %s: found where it is, and nothing in the sound around', (period, rounding) => {
    const x = codes(6000, 40);
    expect(judgeCodeLattices(meanBits(x), -18, ({ first }) => first)).toEqual([]);
    cover(x, 3000, 3000 + 20 * period, period, ROUND[rounding]);
    const found = judgeCodeLattices(meanBits(x), -18, ({ first }) => first);
    const [best] = found.sort((a, b) => a.logChance - b.logChance);
    expect(best).toMatchObject({ period, misses: 0 });
    expect(best.rounding).toBe(rounding);
    expect(Math.abs(best.from - 3000)).toBeLessThanOrEqual(2 * period);
    expect(best.replaced).toBeGreaterThanOrEqual(21);
  });

  it('is found in slow sound, whose own means lie on the other places as well', () => {
    const random = new Random(11);
    const x = Int32Array.from({ length: 6000 }, (_, i) => Math.round(9 * Math.sin(i / 40) + 1.4 * random.uniform()));
    expect(judgeCodeLattices(meanBits(x), -18, ({ first }) => first)).toEqual([]);
    cover(x, 3000, 3800, 2, ROUND.down);
    const found = judgeCodeLattices(meanBits(x), -18, ({ first }) => first);
    expect(found).toContainEqual(expect.objectContaining({ period: 2, pattern: 'x.', rounding: 'down' }));
  });

  it.each([3, 6, 400])('a tone of period %i that fills all that is heard is none', (period) => {
    const x = Int32Array.from({ length: 36_864 }, (_, i) => Math.round(3 * Math.sin((2 * Math.PI * i) / period)));
    expect(judgeCodeLattices(meanBits(x), -18, ({ first }) => first)).toEqual([]);
  });

  it('a tone whose period is nearly that of a lattice is none', () => {
    const random = new Random(5);
    const x = Int32Array.from({ length: 6000 }, (_, i) =>
      Math.round(2 * Math.cos((2 * Math.PI * i) / 3.012) + 0.3 * random.uniform()),
    );
    expect(judgeCodeLattices(meanBits(x), -18, ({ first }) => first)).toEqual([]);
  });

  it('a slope of half a code is no lattice, though its steps lie on one', () => {
    const x = Int32Array.from(codes(6000, 40), (code, i) => (i < 3000 || i >= 3200 ? code : (i - 3000) >> 1));
    expect(judgeCodeLattices(meanBits(x), -18, ({ first }) => first)).toEqual([]);
  });

  it('a sound whose period the lattice shares is none', () => {
    const wave = [0, 9, 31, 9, 0, -9, -31, -9];
    const random = new Random(5);
    const x = Int32Array.from({ length: 6000 }, (_, i) => wave[i % 8] + (random.integer(40) === 0 ? 7 : 0));
    expect(judgeCodeLattices(meanBits(x), -18, ({ first }) => first)).toEqual([]);
  });
});

describe('windows', () => {
  it.each([1000, 32_768, 40_000, 150_001])(
    'of %i codes: each is some one window’s own, with its surroundings',
    (frames) => {
      for (const block of [777, 65_536]) {
        const x = Int32Array.from({ length: frames }, (_, i) => i);
        const own: number[] = [];
        const windows = new CodeWindows(({ codes: seen, start, own: from, ownEnd }) => {
          expect(seen[0]).toBe(start);
          expect(from === 0 || from === MARGIN).toBe(true);
          expect(ownEnd === seen.length || ownEnd === seen.length - MARGIN).toBe(true);
          for (let i = from; i < ownEnd; i++) own.push(seen[i]);
        });
        for (let at = 0; at < frames; at += block) windows.push(x.subarray(at, at + block));
        windows.finish();
        expect(own.length).toBe(frames);
        expect(own.every((code, i) => code === i)).toBe(true);
      }
    },
  );
});

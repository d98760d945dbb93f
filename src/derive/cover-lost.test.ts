// Lost samples covered for a derivative: lines by hand-made truth, silence for long losses, valid samples untouched, the same from any place.
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { memorySource, rate } from '../base/index.ts';
import { coverLost } from './cover-lost.ts';

const CODE = -32_768;
const source = (plane: Int32Array) =>
  memorySource([plane], { name: 'tape', rate: rate(48_000), bits: 16, lostValue: CODE });
const all = async (plane: Int32Array) => (await coverLost(source(plane), [CODE]).read(0, plane.length)).planes[0];

test('a line between the neighbours, rounded; at the ends and over long losses silence', async () => {
  expect([...(await all(Int32Array.of(10, CODE, CODE, CODE, 20, 5, CODE, 6)))]).toEqual([10, 13, 15, 18, 20, 5, 6, 6]);
  expect([...(await all(Int32Array.of(CODE, 7, CODE)))]).toEqual([0, 7, 0]);
  const long = new Int32Array(5000).fill(CODE, 1, 2402).fill(99, 2402);
  expect((await all(long)).subarray(1, 2402).every((value) => value === 0)).toBe(true);
  const line = new Int32Array(5000).fill(CODE, 1, 2401).fill(2401, 2401);
  expect((await all(line)).subarray(1, 2401).every((value, k) => value === k + 1)).toBe(true);
});

test('any place reads as the whole does, and what is valid stays', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.tuple(fc.integer({ min: 1, max: 900 }), fc.integer({ min: 1, max: 3000 })), {
        minLength: 1,
        maxLength: 8,
      }),
      fc.integer({ min: 0, max: 20_000 }),
      fc.integer({ min: 1, max: 5000 }),
      async (runs, start, frames) => {
        const samples = runs.flatMap(([valid, lost], k) => [
          ...Array.from({ length: valid }, (_, i) => ((i * 37 + k * 511) % 4001) - 2000),
          ...new Array<number>(lost).fill(CODE),
        ]);
        const plane = Int32Array.from(samples);
        const whole = await all(plane);
        for (const [i, value] of plane.entries()) if (value !== CODE) expect(whole[i] === value).toBe(true);
        const part = await coverLost(source(plane), [CODE]).read(start, frames);
        expect(part.planes[0]).toEqual(whole.subarray(start, start + frames));
      },
    ),
    { numRuns: 60, seed: 2 },
  );
});

test('a source without lost samples is not changed, and says that it has no code any more', async () => {
  const plane = Int32Array.of(1, 2, 3);
  const covered = coverLost(source(plane), [CODE]);
  expect((await covered.read(0, 3)).planes[0]).toEqual(plane);
  expect(covered.info).not.toHaveProperty('lostValue');
});

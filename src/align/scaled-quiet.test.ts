// A copy at another level equals the original wherever it is quiet: small samples round to themselves. That once passed for
// shared material and the join was refused.
import { expect, it } from 'vitest';
import { memorySource, rate } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import { align } from './index.ts';

it('a copy at 15/16 of the level with long quiet passages is a scaled copy', async () => {
  const random = new Random(5);
  const original = Int32Array.from({ length: 480_000 }, (_, i) => {
    const isQuiet = i % 120_000 < 70_000;
    return Math.round(random.gaussian() * (isQuiet ? 2 : 3000));
  });
  const scaled = original.map((x) => Math.round((x * 15) / 16));
  const source = (plane: Int32Array, name: string) => ({
    source: memorySource([plane], { name, rate: rate(48_000), bits: 16 }),
  });
  const { placements } = await align([source(original, 'a'), source(scaled.subarray(7000), 'b')]);
  expect(placements[1]).toMatchObject({ relation: 'scaled', segments: [{ start: 0, offset: 7000 }] });
  expect(placements[1].gain).toBeCloseTo(15 / 16, 4);
});

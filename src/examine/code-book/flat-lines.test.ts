// Lines between equal codes are told where the deck draws lines elsewhere, and only there.
import { expect, it } from 'vitest';
import { withoutDoubtful } from './flat-lines.ts';
import type { PlacedRow } from './placed-rows.ts';

const row = (start: number, length: number, isFlat: boolean, period = 1): PlacedRow => {
  const rest = { pattern: 'x', replaced: length, misses: 0, logChance: -30, rounding: 'down' };
  return { start, length, period, isFlat, ...rest };
};

it.each([
  ['among lines with a slope', [row(0, 24, false), row(90, 16, false), row(200, 12, true)], 3],
  ['alone', [row(200, 12, true)], 0],
  ['with a single slope, which chance may make', [row(0, 24, false), row(200, 12, true)], 1],
  ['longer than any line that has a slope', [row(0, 24, false), row(90, 16, false), row(200, 48, true)], 2],
  [
    'beside lattices, which tell nothing of lines',
    [row(0, 99, false, 2), row(200, 99, false, 2), row(400, 12, true)],
    2,
  ],
  [
    'as many as a deck makes that holds',
    [row(0, 24, false), row(90, 24, false), ...[1, 2, 3, 4, 5].map((k) => row(300 * k, 12, true))],
    2,
  ],
] as const)('a flat line %s', (_, rows, told) => {
  expect(withoutDoubtful(rows)).toHaveLength(told);
});

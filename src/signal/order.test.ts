// The order is that of the language's own stable sort, on every kind of number that is sorted here.
import { expect, it } from 'vitest';
import { orderOf } from './order.ts';
import { Random } from './random.ts';

const random = new Random(4);
const KINDS: readonly [string, () => number][] = [
  ['few values, so that many are equal', () => random.integer(5)],
  ['frames', () => random.integer(300_000_000)],
  ['hashes of 53 bits', () => random.integer(2 ** 21) * 2 ** 32 + random.uint32()],
  ['fractions', () => random.uniform() * 10 ** random.integer(9)],
  ['one and the same', () => 77],
];

it.each(KINDS)('of %s', (_, make) => {
  for (const length of [0, 1, 2, 1000, 5000]) {
    const first = Float64Array.from({ length }, make);
    const second = Float64Array.from({ length }, () => random.integer(3));
    const indices = [...first.keys()];
    expect([...orderOf(first)]).toEqual([...indices].sort((a, b) => first[a] - first[b]));
    const both = [...indices].sort((a, b) => first[a] - first[b] || second[a] - second[b]);
    expect([...orderOf(first, second)]).toEqual(both);
  }
});

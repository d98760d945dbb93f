// Of two losses that claim the same samples the less likely one is told; parts of one story speak together.
import { describe, expect, it } from 'vitest';
import type { Finding } from './finding.ts';
import { oneStory } from './one-story.ts';

function loss(kind: string, start: number, length: number, log10Chance: number): Finding {
  return {
    detector: kind,
    version: 1,
    kind,
    channels: [1],
    start,
    length,
    confidence: 1,
    expectedByChance: 0,
    measured: length,
    expected: null,
    unit: 'samples',
    detail: { log10Chance },
  };
}

describe('oneStory', () => {
  it('tells the less likely of two losses at one place', () => {
    const [line, hold] = [loss('interpolated', 100, 40, -8), loss('held', 98, 44, -20)];
    expect(oneStory([line, hold])).toEqual([hold]);
  });

  it('tells a story in parts that are less likely together than one over all of them', () => {
    const parts = [loss('held', 998, 500, -200), loss('held', 1500, 500, -200), loss('held', 2000, 400, -200)];
    const lattice = loss('interpolated', 1000, 1400, -500);
    expect(oneStory([...parts, lattice])).toEqual(parts);
  });

  it('drops all parts of a story that is likelier even together', () => {
    const parts = [loss('held', 1000, 500, -200), loss('held', 1500, 500, -200)];
    const lattice = loss('interpolated', 1000, 1000, -500);
    expect(oneStory([...parts, lattice])).toEqual([lattice]);
  });

  it('keeps a long loss of which less likely parts of another kind cover less than half', () => {
    const short = loss('held', 1000, 100, -600);
    const lattice = loss('interpolated', 1000, 1000, -500);
    expect(oneStory([short, lattice])).toEqual([short, lattice]);
  });
});

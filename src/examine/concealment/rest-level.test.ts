// Rows at a level to which the sound returns, against rows that a deck held: the one is told from the other by how often it comes back.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import { conceal, damageOf } from '../../simulate/index.ts';
import type { Detector } from '../detector.ts';
import { examineSource } from '../pass.ts';
import { held } from './held.ts';
import { isRestLevel } from './rest-level.ts';

async function heldIn(plane: Int32Array): Promise<number[]> {
  const source = memorySource([plane], { name: 'test', rate: rate(48_000), bits: 16 });
  const { findings } = await examineSource(source, [held as unknown as Detector]);
  return findings.map(({ start }) => start);
}

function rough(frames: number, height: number, seed = 3): Int32Array {
  const random = new Random(seed);
  let state = 0;
  return Int32Array.from({ length: frames }, () => {
    state = 0.9 * state + height * random.gaussian();
    return Math.round(state);
  });
}

/** Noise that a gate closes now and then, behind it the DC of a converter. */
function gatedWithDc(level: number): Int32Array {
  const sound = rough(40_000, 30);
  return sound.map((x, i) => (i % 700 < 620 ? x : level));
}

describe('a level to which sound returns is no hold', () => {
  it.each([-8, 3, 21])('a gate with a DC of %i steps', async (level) => {
    expect(await heldIn(gatedWithDc(level))).toEqual([]);
  });

  it('bass clipped hard, then softer, in which flat tops fall into a lattice', async () => {
    const wave = Int32Array.from({ length: 40_000 }, (_, i) => {
      const swing = Math.sin((2 * Math.PI * i) / 15) + 0.9 * Math.sin((2 * Math.PI * i) / 411);
      return Math.round(0.891 * Math.max(-32_768, Math.min(32_767, 60_000 * swing)));
    });
    expect(await heldIn(wave)).toEqual([]);
  });

  it('but holds between the gates are found', async () => {
    const losses = [{ channel: 1, start: 14_300, length: 40, pattern: 'test', cause: 'test' }];
    const policy = { rules: [{ upTo: Number.POSITIVE_INFINITY, method: { kind: 'hold' as const } }] };
    const { planes } = conceal({ planes: [gatedWithDc(-8)] }, damageOf(1, 40_000, [losses]), policy);
    expect(await heldIn(planes[0])).toEqual([14_300]);
  });
});

describe('isRestLevel', () => {
  it('holds of many values are no rest, however many', () => {
    const steps = rough(2000, 300, 5).map((_, i, all) => all[i - (i % 4)]);
    expect([0, 400, 800, 1200].some((i) => isRestLevel(steps, steps[i]))).toBe(false);
  });

  it('rows that are much shorter than the row in question are none', () => {
    const sound = rough(2000, 300, 7).fill(123, 900, 1400);
    for (const at of [100, 300, 500, 700, 1600]) sound.fill(123, at, at + 5);
    expect(isRestLevel(sound, 123)).toBe(true);
    expect(isRestLevel(sound, 123, 500 / 4)).toBe(false);
  });

  it('one row alone is none', () => {
    const sound = rough(2000, 300, 7).fill(123, 900, 930);
    expect(isRestLevel(sound, 123)).toBe(false);
    expect(isRestLevel(sound.fill(123, 1300, 1330), 123)).toBe(true);
  });
});

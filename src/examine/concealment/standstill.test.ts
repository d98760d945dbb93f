// What length alone tells of a row of equal samples, and what it does not: sound that dies away, or moves in wide steps.
import { describe, expect, it } from 'vitest';
import { Random } from '../../signal/index.ts';
import { holdRule } from './hits.ts';
import type { Row } from './judged-stretch.ts';
import { MarkedSound } from './marked-sound.ts';
import { isStandstill, leastMoveBeside, standstillChance } from './standstill.ts';

const FRAMES = 2600;
const HELD: Row = { from: 1000, to: 1525 };

/** Moves of a step or two at most, in steps of 64. */
function soft(): Int32Array {
  return Int32Array.from({ length: FRAMES }, (_, i) => 64 * Math.round(30 * Math.sin(i / 21) + 4 * Math.sin(i / 5)));
}

/** The row repeats the sample before it. */
function heldIn(sound: Int32Array, { from, to }: Row): MarkedSound {
  return new MarkedSound(sound.slice().fill(sound[from - 1], from, to), holdRule, 64);
}

describe('isStandstill', () => {
  it('a field held in the middle of slow moves, and a jump to where the sound really was', () => {
    const held = heldIn(soft(), HELD);
    expect(isStandstill(held, HELD)).toBe(true);
    expect(standstillChance(held, HELD)).toBeLessThan(-30);
  });

  it('is none at the level around which the sound dies away', () => {
    const fade = (x: number, i: number) => 64 * Math.round((x * Math.max(0, 1000 - i)) / 64_000);
    const dying = soft().map((x, i) => 320 + (i < HELD.to ? fade(x, i) : x));
    expect(isStandstill(heldIn(dying, HELD), HELD)).toBe(false);
  });

  it('is none where the sound moves by no more than a few of the steps that it keeps there', () => {
    const held = heldIn(
      soft().map((x) => 5 * x),
      HELD,
    );
    expect(leastMoveBeside(held.samples, HELD)).toBe(5 * 64);
    expect(isStandstill({ ...held, step: 5 * 64 }, HELD)).toBe(true);
    expect(isStandstill({ ...held, step: 150 * 64 }, HELD)).toBe(false);
  });

  it('is none beside rows that are a few times shorter', () => {
    const random = new Random(3);
    const steps = Int32Array.from({ length: FRAMES }, () => 64 * random.integer(200));
    const rows = steps.map((_, i) => steps[i - (i % 60)]);
    expect(isStandstill(heldIn(steps, HELD), HELD)).toBe(true);
    expect(isStandstill(heldIn(rows, HELD), HELD)).toBe(false);
  });
});

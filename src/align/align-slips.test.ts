// A hundred slips of 1 to 512 samples: each found at its frame and length when a second read exists; and clocks that are off,
// to a tenth of a millionth over ten minutes. Truth: the test's own edits and ratios.
import { describe, expect, it } from 'vitest';
import { Random, resampleReal } from '../signal/index.ts';
import { align } from './align.ts';
import { musicLike, slipPlanes, sourceOf } from './testing/signals.ts';

const SLIPS_PER_CAPTURE = 20;
const SPACING_FRAMES = 30_000;

/** Losses and repeats in turn; the lengths 1, 2, 511 and 512 are always among them. */
function editsOf(random: Random): { frame: number; lost: number }[] {
  return Array.from({ length: SLIPS_PER_CAPTURE }, (_, k) => {
    const length = [1, 2, 511, 512][k] ?? 1 + Math.floor(random.uniform() * 512);
    const frame = (k + 1) * SPACING_FRAMES + Math.floor(random.uniform() * (SPACING_FRAMES / 2));
    return { frame, lost: k % 2 ? -length : length };
  });
}

describe('a hundred slips', () => {
  it.each([1, 2, 3, 4, 5])('capture %i: twenty, each at its very frame', async (seed) => {
    const planes = [musicLike((SLIPS_PER_CAPTURE + 2) * SPACING_FRAMES, seed)];
    const slipped = slipPlanes(planes, editsOf(new Random(seed)));
    expect(slipped.slips).toHaveLength(SLIPS_PER_CAPTURE);
    const result = await align([
      { source: sourceOf('whole', planes), pass: 1 },
      { source: sourceOf('slipped', slipped.planes), pass: 2 },
    ]);
    expect(result.slips.map(({ at, lostFrames }) => ({ at, lostFrames }))).toEqual(slipped.slips);
    expect(result.slips.every(({ capture }) => capture === 1)).toBe(true);
  });
});

describe('a clock that is off, over ten minutes', () => {
  const rateHz = 8000;
  const sound = musicLike(600 * rateHz, 9);

  it.each([0.4, -12.5, 101])('%f ppm are found within 0.1', async (ppm) => {
    const frames = sound.length - 2000;
    const copy = resampleReal(Float64Array.from(sound), 700.3, 1 + ppm * 1e-6, frames);
    const result = await align([
      { source: sourceOf('whole', [sound], 16, rateHz), pass: 1 },
      { source: sourceOf('copy', [Int32Array.from(copy, Math.round)], 16, rateHz), pass: 2 },
    ]);
    expect(result.placements[1].relation).toBe('resampled');
    expect(Math.abs((result.placements[1].driftPpm ?? 99) - ppm)).toBeLessThan(0.1);
  });
});

// The same questions on real recordings: exact places, slips and damage, kinds of copies, and no join between strangers.
import { describe, expect, it } from 'vitest';
import { loadMusic, needMusic } from '../media/testing/music.ts';
import type { Skipping } from '../media/testing/tools.ts';
import { Random, resampleReal } from '../signal/index.ts';
import { align } from './align.ts';
import { damagePlanes, slicePlanes, slipPlanes, sourceOf } from './testing/signals.ts';

const NAMES = ['guitar', 'violins', 'choir', 'flute', 'fox', 'seashore', 'piano', 'drums'];

/** Sustained tones, loops and attacks; the others add time, not kinds. */
const COPIED = ['guitar', 'choir', 'flute', 'piano'];

async function recording(
  context: Skipping,
  name: string,
): Promise<{ planes: Int32Array[]; bits: number; rateHz: number }> {
  const music = await loadMusic(await needMusic(context, name), { channels: 1 });
  return { ...music, planes: slicePlanes(music.planes, 0, Math.min(music.planes[0].length, 480_000)) };
}

describe.each(NAMES)('%s', (name) => {
  it('is placed exactly through a fifth of concealment and ten slips', async (context) => {
    const { planes, bits, rateHz } = await recording(context, name);
    const random = new Random(3);
    const usable = planes[0].length - 20_000;
    const edits = Array.from({ length: 10 }, (_, n) => ({
      frame: 10_000 + Math.floor((usable * n) / 10) + random.integer(Math.floor(usable / 20)),
      lost: (n % 2 ? 1 : -1) * (1 + random.integer(300)),
    }));
    const slipped = slipPlanes(planes, edits);
    const clean = await align(
      [sourceOf('a', planes, bits, rateHz), sourceOf('b', slipped.planes, bits, rateHz)].map((source) => ({ source })),
    );
    expect(clean.placements[1].relation).toBe('bit-equal');
    expect(clean.slips.map(({ at, lostFrames }) => ({ at, lostFrames }))).toEqual(slipped.slips);
    const damaged = damagePlanes(slipped.planes, 0.2, 9);
    const result = await align(
      [sourceOf('a', planes, bits, rateHz), sourceOf('b', damaged, bits, rateHz)].map((source) => ({ source })),
    );
    expect(result.placements[1].relation).toBe('bit-equal');
    expect(result.slips).toHaveLength(edits.length);
    // where a burst hides the repeated frames nobody can say who slipped: what counts is that like frames meet
    const timeOf = (capture: number, frame: number) => {
      const segment = result.placements[capture].segments.find((s) => frame >= s.start && frame < s.start + s.length);
      return frame + (segment?.offset ?? Number.NaN);
    };
    for (const [n, slip] of [{ at: 0 }, ...slipped.slips].entries()) {
      const end = slipped.slips[n]?.at ?? damaged[0].length;
      const own = Math.floor((slip.at + end) / 2);
      const lost = edits.slice(0, n).reduce((sum, edit) => sum + edit.lost, 0);
      expect(timeOf(1, own)).toBe(timeOf(0, own + lost));
    }
  });

  it.runIf(COPIED.includes(name))('tells kinds of copies apart', async (context) => {
    const { planes, bits, rateHz } = await recording(context, name);
    const plane = planes[0].subarray(0, 200_000);
    const random = new Random(4);
    const limit = 2 ** (bits - 1) - 1;
    const whole = (values: Float64Array) =>
      Int32Array.from(values, (v) => Math.max(-limit - 1, Math.min(limit, Math.round(v))));
    const real = Float64Array.from(plane);
    const copies = {
      scaled: whole(real.map((v) => 0.7 * v)),
      resampled: whole(resampleReal(real, 30.4, 1 + 30e-6, plane.length - 200)),
      'via-analogue': whole(real.map((v) => 0.999 * v + random.integer(3) - 1)),
    };
    for (const [relation, copy] of Object.entries(copies)) {
      const { placements } = await align(
        [sourceOf('a', [plane], bits, rateHz), sourceOf('b', [copy], bits, rateHz)].map((source) => ({ source })),
      );
      const said = placements[1].relation;
      // near the Nyquist frequency a resampler leaves more than rounding; then only the weaker statement is allowed
      if (relation === 'resampled') expect(['resampled', 'via-analogue']).toContain(said);
      else expect(said).toBe(relation);
      expect(placements[1].group).toBe(0);
    }
  });
});

it('joins no two of these recordings', async (context) => {
  const inputs = [];
  for (const name of NAMES) {
    const { planes, bits, rateHz } = await recording(context, name);
    inputs.push({ source: sourceOf(name, slicePlanes(planes, 0, 120_000), bits, rateHz) });
  }
  const result = await align(inputs);
  expect(result.placements.map((p) => `${p.capture} ${p.relation} ${p.method}`)).toEqual(
    NAMES.map((_, n) => (n === 0 ? '0 bit-equal reference' : `${n} unrelated none`)),
  );
});

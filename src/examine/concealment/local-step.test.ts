// Sound whose values lie closer or wider by level or by place: what a law, a gain after it, or a change on the way does to the
// chance of equal neighbours. Truth: the sound is undamaged, or damaged here.
import { describe, expect, it } from 'vitest';
import { memorySource, rate, type SegmentLaw } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random, roundTrip } from '../../signal/index.ts';
import { conceal, damageOf } from '../../simulate/index.ts';
import { eightMm, nonlinear12 } from '../../tape/index.ts';
import type { Detector } from '../detector.ts';
import { examineSource } from '../pass.ts';
import { held } from './held.ts';
import { interpolated } from './interpolated.ts';
import { LocalValues } from './local-step.ts';
import { muted } from './muted.ts';

const ALL = [interpolated, held, muted] as unknown as readonly Detector[];

async function kindsIn(plane: Int32Array) {
  const source = memorySource([plane], { name: 'test', rate: rate(44_100), bits: 16 });
  return (await examineSource(source, ALL)).findings.map(({ kind, start }) => `${kind} at ${start}`);
}

const LAWS: readonly (readonly [string, SegmentLaw, number])[] = [
  ['the 12-bit law', nonlinear12, 0],
  ['the 8 mm law', eightMm(), 6],
];

describe.each(['guitar', 'electric-guitar', 'piano', 'announcement-rear'])('undamaged: %s', (name) => {
  it.for(LAWS)('%s, all through and in parts', async ([, law, shift], context) => {
    const [plane] = (await loadMusic(await needMusic(context, name))).planes;
    const companded = plane.map((x) => roundTrip(law, x, shift));
    const n = plane.length;
    const part = (from: number, to: number) => plane.map((x, i) => (i >= from && i < to ? companded[i] : x));
    expect(await kindsIn(companded)).toEqual([]);
    expect(await kindsIn(part(n / 2, n))).toEqual([]);
    expect(await kindsIn(part(0, n / 2))).toEqual([]);
    expect(await kindsIn(part(n / 3, (2 * n) / 3))).toEqual([]);
  });
});

it.for(['guitar', 'electric-guitar', 'announcement-rear'])(
  'undamaged: the 8 mm law under a gain: %s',
  async (name, context) => {
    const [plane] = (await loadMusic(await needMusic(context, name))).planes;
    expect(await kindsIn(plane.map((x) => Math.round(0.7 * roundTrip(eightMm(), x, 6))))).toEqual([]);
  },
);

it('a hold in the companded half is found all the same', async (context) => {
  const [plane] = (await loadMusic(await needMusic(context, 'guitar'))).planes;
  const half = plane.length >> 1;
  const sound = plane.map((x, i) => (i < half ? x : roundTrip(nonlinear12, x)));
  const at = [600_011, 640_007, 700_001, 760_013];
  const losses = at.map((start) => ({ channel: 1, start, length: 40, pattern: 'run', cause: 'test' }));
  const policy = { rules: [{ upTo: 40, method: { kind: 'hold' } }] } as const;
  const { planes } = conceal({ planes: [sound] }, damageOf(1, sound.length, [losses]), policy);
  const found = await kindsIn(planes[0]);
  expect(found.length).toBeGreaterThanOrEqual(3);
  for (const one of found) expect(at.map((start) => `held at ${start}`)).toContain(one);
});

describe.each([1.7, 2.371, 3.564, 6.29])('undamaged: low notes made %f times louder in the numbers', (gain) => {
  it.each([60, 90, 110])('%i Hz', async (hz) => {
    const random = new Random(2);
    const sound = Int32Array.from({ length: 100_000 }, (_, i) => {
      const height = 60 * (1 + 0.5 * Math.sin(i / 3000));
      const quiet = height * Math.sin((2 * Math.PI * hz * i) / 44_100) + 0.2 * random.gaussian();
      return Math.round(gain * Math.round(quiet));
    });
    expect(await kindsIn(sound)).toEqual([]);
  });
});

describe('the step that values keep', () => {
  const random = new Random(4);
  const loud = Int32Array.from({ length: 2400 }, () => Math.round(6000 * random.gaussian()));
  const stepAt = (samples: Int32Array, value: number, base = 1) =>
    new LocalValues(samples, 1200, 1200, base).stepAt(value);

  it('is the base step of linear sound, in nearly every place', () => {
    const steps = Array.from({ length: 1000 }, (_, k) => stepAt(loud, 7 * k - 3500));
    expect(steps.filter((step) => step > 1).length).toBeLessThan(30);
    expect(
      stepAt(
        loud.map((x) => x & ~3),
        400,
        4,
      ),
    ).toBe(4);
  });

  it.for(LAWS)('is that of the segment: %s', ([, law, shift]) => {
    const companded = loud.map((x) => roundTrip(law, x, shift));
    for (const { from, step } of law.segments.slice(1, 5)) {
      const value = roundTrip(law, (from + 6 * step) << shift, shift);
      if (value < 12_000) expect(stepAt(companded, value)).toBe(step << shift);
    }
  });

  it('is told under a gain where it is wide, and not where the value lies between the others', () => {
    const scaled = loud.map((x) => Math.round(0.7 * roundTrip(eightMm(), x, 6)));
    const value = Math.round(0.7 * roundTrip(eightMm(), 5000, 6));
    expect(stepAt(scaled, value)).toBeGreaterThan(0.65 * 256);
    expect(stepAt(scaled, value + 40)).toBe(1);
  });

  it.each([2.6, 3.564, 5.2])('is told under a gain of %f, and none where there is no gain', (gain) => {
    const quiet = loud.map((x) => Math.round(x / 100));
    expect(
      stepAt(
        quiet.map((x) => Math.round(gain * x)),
        Math.round(gain * 9),
      ),
    ).toBeCloseTo(gain, 0);
    for (const share of [100, 30, 10, 5, 3]) {
      const plain = loud.map((x) => Math.round(x / share));
      const steps = Array.from({ length: 400 }, (_, k) => stepAt(plain, k - 200));
      expect(steps.filter((step) => step > 1).length).toBeLessThan(8);
    }
  });
});

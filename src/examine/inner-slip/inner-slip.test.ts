// Frames dropped and doubled at known places in one capture, damage of other kinds and natural sound that must not be taken
// for slips. The frame is exact; the length is exact or openly unknown, never wrong.
import { describe, expect, it, test } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { COMMON_POLICY, conceal, damageOf } from '../../simulate/index.ts';
import type { Detector } from '../detector.ts';
import { type ExamineResult, examineSource } from '../pass.ts';
import { innerSlip } from './inner-slip.ts';

async function examine(planes: readonly Int32Array[], bits = 16, hz = 44_100): Promise<ExamineResult> {
  const source = memorySource(planes, { name: 'test', rate: rate(hz), bits });
  return examineSource(source, [innerSlip] as unknown as readonly Detector[]);
}

/** Three deep resonances of some thousand steps in air of one step: calm from sample to sample, never the same. */
function sound(frames: number, seed = 3): Int32Array {
  const random = new Random(seed);
  const states = [0.03, 0.11, 0.23].map((angle) => ({ turn: 2 * 0.9999 * Math.cos(angle), now: 0, before: 0 }));
  return Int32Array.from({ length: frames }, () => {
    let sum = random.gaussian();
    for (const one of states) {
      [one.now, one.before] = [one.turn * one.now - 0.9999 ** 2 * one.before + 3 * random.gaussian(), one.now];
      sum += one.now;
    }
    return Math.round(sum);
  });
}

const dropAt = (x: Int32Array, at: number, frames: number) =>
  Int32Array.from([...x.subarray(0, at), ...x.subarray(at + frames)]);
const doubleAt = (x: Int32Array, at: number, frames: number) =>
  Int32Array.from([...x.subarray(0, at), ...x.subarray(at - frames)]);

describe('frames played twice', () => {
  it.each([2, 3, 8, 31, 64, 200, 512])('%i of them are found where the copy begins', async (frames) => {
    const { findings, verdicts } = await examine([doubleAt(sound(90_000), 40_000, frames)]);
    expect(findings).toMatchObject([
      {
        kind: 'discontinuity',
        channels: [1],
        start: 40_000,
        length: frames,
        measured: frames,
        detail: { cause: 'duplicated' },
      },
    ]);
    expect(findings[0].expectedByChance).toBeLessThan(0.01);
    expect(verdicts[0]).toMatchObject({ question: 'inner-slip-seen', answer: 1 });
  });

  it('in both channels of a capture are one finding', async () => {
    const both = [sound(90_000), sound(90_000, 7)].map((x) => doubleAt(x, 40_000, 5));
    expect((await examine(both)).findings).toMatchObject([{ channels: [1, 2], start: 40_000, measured: 5 }]);
  });

  it('in one channel only are no slip of the capture', async () => {
    const one = doubleAt(sound(90_000), 40_000, 5);
    const other = sound(one.length, 7);
    expect((await examine([one, other])).findings).toEqual([]);
  });
});

describe('frames dropped', () => {
  it.each([2, 5, 8])('%i of them are found, with their number', async (frames) => {
    const { findings } = await examine([dropAt(sound(90_000), 40_000, frames)]);
    expect(findings).toMatchObject([{ start: 40_000, detail: { cause: 'dropped' } }]);
    expect([frames, null]).toContain(findings[0].measured);
    expect(findings[0].detail.fewestFrames).toBeLessThanOrEqual(frames);
  });

  it('one of them is not told: a single click explains it as well', async () => {
    expect((await examine([dropAt(sound(90_000), 40_000, 1)])).findings).toEqual([]);
  });

  it.each([24, 64, 500])('%i of them are found, the number open where it must be', async (frames) => {
    const { findings } = await examine([
      dropAt(sound(90_000), 40_000, frames),
      dropAt(sound(90_000, 7), 40_000, frames),
    ]);
    expect(findings).toMatchObject([{ channels: [1, 2], start: 40_000, detail: { cause: 'dropped' } }]);
    expect([frames, null]).toContain(findings[0].measured);
  });
});

test.for(['guitar', 'violins', 'choir'])('in a real recording no length is wrong: %s', async (name, context) => {
  const { planes, bits, rateHz } = await loadMusic(await needMusic(context, name));
  const slips = [60_000, 130_000, 200_000, 270_000, 340_000];
  const slipped = planes.map((plane) => slips.reduce((x, at, k) => (k % 2 ? dropAt : doubleAt)(x, at, 16), plane));
  const { findings } = await examine(slipped, bits, rateHz);
  for (const { start, measured, detail } of findings) {
    const k = slips.indexOf(start);
    expect(k).toBeGreaterThanOrEqual(0);
    expect(detail.cause).toBe(k % 2 ? 'dropped' : 'duplicated');
    expect([16, null]).toContain(measured);
  }
  expect(findings.length).toBeGreaterThanOrEqual(2);
});

describe('what is no slip stays silent', () => {
  const random = new Random(12);
  const wave = (value: (i: number) => number) => Int32Array.from({ length: 96_000 }, (_, i) => Math.round(value(i)));
  const cases: readonly (readonly [string, Int32Array])[] = [
    ['plain sound', sound(96_000)],
    ['whisper', sound(96_000).map((x) => Math.round(x / 400))],
    ['clipped sound', sound(96_000).map((x) => Math.max(-1500, Math.min(1500, x)))],
    ['one click', sound(96_000).map((x, i) => (i === 50_000 ? x + 5000 : x))],
    ['a click of three samples', sound(96_000).map((x, i) => (i >= 50_000 && i < 50_003 ? x + 5000 : x))],
    [
      'attacks of noise',
      wave((i) => 12_000 * Math.exp(-(i % 24_000) / 900) * random.gaussian() + 3 * random.gaussian()),
    ],
    [
      'attacks of a tone',
      wave((i) => 9000 * Math.exp(-(i % 9000) / 900) * Math.sin((i % 9000) / 3) + 3 * random.gaussian()),
    ],
    ['a square wave with air', wave((i) => (i % 1000 < 500 ? 9000 : -9000) + 5 * random.gaussian())],
    ['a square wave', wave((i) => (i % 1000 < 500 ? 9000 : -9000))],
    ['a sawtooth', wave((i) => 20 * (i % 999) - 9000)],
    ['a sawtooth with air', wave((i) => 20 * (i % 999) - 9000 + 4 * random.gaussian())],
    ['a tone', wave((i) => 12_000 * Math.sin(i / 7))],
    ['a staircase', wave((i) => 300 * (Math.floor(i / 32) % 64))],
    ['silence', wave(() => 0)],
    ['sound out of digital silence and back', sound(96_000).map((x, i) => (i > 30_000 && i < 60_000 ? x : 0))],
  ];
  it.each(cases)('%s', async (_, plane) => {
    expect((await examine([plane])).findings).toEqual([]);
  });

  it('samples that a deck covered up', async () => {
    const lengths = [1, 2, 3, 6, 12, 40, 300];
    const losses = lengths.map((length, k) => ({
      channel: 1,
      start: 9000 + 11_000 * k,
      length,
      pattern: 'test',
      cause: 'test',
    }));
    const { planes } = conceal({ planes: [sound(96_000)] }, damageOf(1, 96_000, [losses]), COMMON_POLICY);
    expect((await examine(planes)).findings).toEqual([]);
  });

  test.for(['drums', 'tabla', 'bell', 'seashore', 'fox', 'announcement-front', 'piano', 'flute', 'electric-guitar'])(
    'a real recording: %s',
    async (name, context) => {
      const { planes, bits, rateHz } = await loadMusic(await needMusic(context, name));
      expect((await examine(planes, bits, rateHz)).findings).toEqual([]);
    },
  );
});

// Repeated blocks on sound with known damage, music that repeats by itself and must stay silent, and the facts a finding
// states. Exact places are expected: a copy is equal or it is not; two frames of slack where samples fit by chance.
import { describe, expect, it, test } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { conceal, damageOf, type Loss } from '../../simulate/index.ts';
import type { Detector } from '../detector.ts';
import { isLoss } from '../finding.ts';
import type { ExamineResult } from '../pass.ts';
import { examineSource } from '../pass.ts';
import { olderWordRinging } from '../testing/older-word.ts';
import { repeated } from './repeated.ts';

const DETECTOR = [repeated] as unknown as readonly Detector[];

async function examine(planes: readonly Int32Array[], bits = 16, hz = 44_100): Promise<ExamineResult> {
  return examineSource(memorySource(planes, { name: 'test', rate: rate(hz), bits }), DETECTOR);
}

/** A deep resonance of some 4000 steps with air of 20 steps around it: lively, and smooth from sample to sample. */
function sound(frames: number, seed = 3): Int32Array {
  const random = new Random(seed);
  let [now, before] = [0, 0];
  return Int32Array.from({ length: frames }, () => {
    [now, before] = [1.985 * now - 0.99 * before + 40 * random.gaussian(), now];
    return Math.round(now + 20 * random.gaussian());
  });
}

/** Sound in which no joint stands out. */
function noise(frames: number, seed = 6): Int32Array {
  const random = new Random(seed);
  return Int32Array.from({ length: frames }, () => Math.round(900 * random.gaussian()));
}

/** A low-pass with memory; of noise of one step it leaves one step, three quarters of it the same from sample to sample. */
function smoothly(share: number): (x: number) => number {
  let y = 0;
  return (x) => {
    y = share * y + Math.sqrt(1 - share ** 2) * x;
    return y;
  };
}

function withRepeats(planes: readonly Int32Array[], losses: readonly Loss[], blockFrames: number): Int32Array[] {
  const policy = { rules: [{ upTo: Number.POSITIVE_INFINITY, method: { kind: 'repeat', blockFrames } as const }] };
  return conceal({ planes }, damageOf(planes.length, planes[0].length, [losses]), policy).planes;
}

const loss = (start: number, length: number, channel = 1): Loss => ({
  channel,
  start,
  length,
  pattern: 'test',
  cause: 'test',
});

describe('a block played again', () => {
  it.each([
    [16, 735, 44_100],
    [48, 525, 31_500],
    [240, 1440, 48_000],
    [525, 525, 31_500],
    [735, 735, 44_100],
    [1602, 1602, 48_000],
    [700, 8192, 44_100],
    [64, 64, 44_100],
  ])('%i samples from %i frames before are found where they lie, at %i Hz', async (length, lag, hz) => {
    const { findings, verdicts } = await examine(withRepeats([sound(60_000)], [loss(20_000, length)], lag), 16, hz);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ kind: 'repeated', channels: [1], detail: { lagFrames: lag } });
    expect(Math.abs(findings[0].start - 20_000)).toBeLessThanOrEqual(2);
    expect(Math.abs(findings[0].length - length)).toBeLessThanOrEqual(4);
    expect(findings[0].expectedByChance).toBeLessThan(0.01);
    expect(verdicts[0]).toMatchObject({ question: 'repeated-seen', answer: findings[0].length });
  });

  it('names the unit of a tape format that is as long as the lag', async () => {
    const { findings } = await examine(withRepeats([sound(60_000)], [loss(20_000, 735)], 735));
    expect(findings[0].detail.formatUnits).toEqual([expect.stringMatching(/^field 735: pcm-adaptor-525/)]);
  });

  it('put in, not written over: the sound goes on after the copy', async () => {
    const x = sound(60_000);
    const longer = Int32Array.from([...x.subarray(0, 20_000), ...x.subarray(19_488)]);
    const { findings } = await examine([longer]);
    expect(findings).toMatchObject([{ start: 20_000, length: 512, detail: { lagFrames: 512, cause: 'inserted' } }]);
  });

  it('every other block of 800 played twice, as after the loss of a head', async () => {
    const losses = Array.from({ length: 12 }, (_, k) => loss(20_000 + 1600 * k, 800));
    const { findings } = await examine(withRepeats([sound(60_000)], losses, 800));
    const starts = losses.map(({ start }) => findings.filter((f) => Math.abs(f.start - start) <= 2).length);
    expect(starts.filter((count) => count === 1).length).toBeGreaterThanOrEqual(11);
    expect(findings.length).toBeLessThanOrEqual(12);
  });

  it.each([96, 735])('%i samples in sound of a few steps', async (length) => {
    const soft = noise(60_000).map((x) => Math.round(x / 300));
    const { findings } = await examine(withRepeats([soft], [loss(20_000, length)], 735));
    expect(findings).toMatchObject([{ kind: 'repeated', detail: { lagFrames: 735 } }]);
    expect(Math.abs(findings[0].start - 20_000)).toBeLessThanOrEqual(8);
  });

  it.each([
    ['of steps of one and two', (x: number) => x, 96],
    ['that mostly stands still from sample to sample', smoothly(0.95), 735],
  ] as const)('in a whisper %s', async (_, smooth, length) => {
    const whisper = noise(60_000).map((x) => Math.round(smooth(x / 900)));
    const { findings } = await examine(withRepeats([whisper], [loss(20_000, length)], 735));
    expect(findings).toMatchObject([{ kind: 'repeated', detail: { lagFrames: 735 } }]);
    expect(Math.abs(findings[0].start - 20_000)).toBeLessThanOrEqual(12);
  });

  it('every other field of a whisper played twice, each copy followed by the next', async () => {
    const whisper = noise(60_000).map((x) => Math.round(x / 900));
    const losses = Array.from({ length: 12 }, (_, k) => loss(20_000 + 1250 * k, 625));
    const { findings } = await examine(withRepeats([whisper], losses, 625));
    const found = losses.filter(({ start }) => findings.some((f) => Math.abs(f.start - start) <= 12));
    expect(found).toHaveLength(12);
    expect(findings.length).toBeLessThanOrEqual(12);
  });

  it('in sound of single pulses, whose liveliness changes from place to place', async () => {
    const pulses = sound(60_000).map((x, i) => Math.round(x / 40) + (i % 180 < 4 ? 3000 - 1700 * (i % 180) : 0));
    const { findings } = await examine(withRepeats([pulses], [loss(20_020, 547)], 735));
    expect(findings).toMatchObject([{ kind: 'repeated', detail: { lagFrames: 735 } }]);
  });

  it.each([24, 735])('%i samples in noise, where no joint stands out', async (length) => {
    const { findings } = await examine(withRepeats([noise(60_000)], [loss(20_000, length)], 735));
    expect(findings).toMatchObject([{ start: 20_000, length, detail: { lagFrames: 735 } }]);
  });

  it('sixteen samples of two steps that end at a jump and begin at once', async () => {
    const stepped = noise(60_000).map((x, i) => Math.round(x / 450) + (i < 20_016 ? 0 : 60));
    const { findings } = await examine(withRepeats([stepped], [loss(20_000, 16)], 735));
    expect(findings).toMatchObject([{ start: 20_000, length: 16, detail: { lagFrames: 735 } }]);
  });

  it('16-bit sound in a 24-bit container is judged in its own steps', async () => {
    const plane = withRepeats([sound(60_000)], [loss(20_000, 24)], 735)[0].map((x) => x * 256);
    expect((await examine([plane], 24)).findings).toHaveLength(1);
  });

  test.for(['guitar', 'fox', 'tabla'])('in a real recording: %s', async (name, context) => {
    const music = await loadMusic(await needMusic(context, name));
    const starts = Array.from({ length: 8 }, (_, k) => 10_000 + k * 9000);
    const damaged = withRepeats(
      music.planes.slice(0, 1),
      starts.map((start) => loss(start, 735)),
      735,
    );
    const { findings } = await examine(damaged, music.bits, music.rateHz);
    const found = starts.filter((start) => findings.some((f) => Math.abs(f.start - start) <= 2));
    expect(findings.length).toBe(found.length);
    // Smooth joints hide some by nature; `npm run score` counts over all recordings.
    expect(found.length).toBeGreaterThanOrEqual(6);
  });
});

describe('a copy of a lag that no deck is known to have', () => {
  it.each([337, 2500])(
    'once, %i samples put in or written over: an editor may have made it, and no loss is told',
    async (lag) => {
      const x = sound(60_000);
      const inserted = Int32Array.from([...x.subarray(0, 20_000), ...x.subarray(20_000 - lag)]);
      for (const plane of [inserted, withRepeats([x], [loss(20_000, lag - 40)], lag)[0]]) {
        const { findings, verdicts } = await examine([plane]);
        const detail = { lagFrames: lag, cause: "cannot tell a deck's repeat from an editor's copy" };
        expect(findings).toMatchObject([{ kind: 'copied', detail }]);
        expect(findings.some(isLoss)).toBe(false);
        expect(verdicts[0]).toMatchObject({ answer: 0, evidence: { repeatOrCopy: 1 } });
      }
    },
  );

  it('is a repeat where it recurs, to a frame or two, in one channel or another', async () => {
    const [left, right] = [sound(60_000, 3), sound(60_000, 4)];
    const both = [
      ...withRepeats([left], [loss(20_000, 480)], 1001),
      ...withRepeats([right], [loss(40_000, 480)], 1002),
    ];
    const { findings } = await examine(both);
    expect(findings.map(({ kind, detail }) => [kind, detail.lagIs])).toEqual([
      ['repeated', 'that of other copies'],
      ['repeated', 'that of other copies'],
    ]);
  });

  it('does not recur by being in both channels at once', async () => {
    const { findings } = await examine(
      withRepeats([sound(60_000, 3), sound(60_000, 4)], [loss(20_000, 480, 1), loss(20_000, 480, 2)], 1001),
    );
    expect(findings.map(({ kind }) => kind)).toEqual(['copied', 'copied']);
  });
});

describe('a quiet channel is told by its neighbour', () => {
  it('reports both, and says with whom', async () => {
    const loud = sound(60_000, 5);
    // the same at this lag but for the last bit: its joints are smooth
    const random = new Random(8);
    const quiet = loud.map((_, i) => Math.round(3000 * Math.sin((2 * Math.PI * i) / 735) + 0.8 * random.gaussian()));
    const both = withRepeats([loud, quiet], [loss(20_000, 735, 1), loss(20_000, 735, 2)], 735);
    const { findings } = await examine(both);
    expect(findings.map((f) => f.channels[0])).toEqual([1, 2]);
    expect(findings[1].detail).toMatchObject({ togetherWithChannel: 1 });
  });
});

describe('sound that repeats by itself stays silent', () => {
  const wave = (value: (i: number) => number) => Int32Array.from({ length: 96_000 }, (_, i) => Math.round(value(i)));
  const sine = (period: number, level: number) => (i: number) => level * Math.sin((2 * Math.PI * i) / period);
  const hit = sound(3000, 9).map((x, i) => Math.round(x * Math.exp(-i / 500)));
  const grain = sound(441, 4);
  const cases: readonly (readonly [string, Int32Array])[] = [
    ['a tone of whole period', wave(sine(96, 20_000))],
    ['a tone of no whole period', wave(sine(96.37, 20_000))],
    ['two tones', wave((i) => sine(96, 9000)(i) + sine(441, 9000)(i))],
    ['a tone that sets in twice', wave((i) => (i % 30_000 < 15_000 ? sine(100, 12_000)(i) : 0))],
    ['a square wave', wave((i) => (i % 200 < 100 ? 9000 : -9000))],
    ['a sawtooth changing its note', wave((i) => (i % 9000 < 4500 ? 150 * (i % 100) : 150 * (i % 96)) - 7000)],
    ['a staircase', wave((i) => 300 * (Math.floor(i / 32) % 64))],
    ['silence', wave(() => 0)],
    ['silence with hits of one sampled drum', wave((i) => hit[i % 5512] ?? 0)],
    ['the drum again before it has died away', wave((i) => hit[i % 1500] ?? 0)],
    ['noise from a short memory, over and over', wave((i) => grain[i % grain.length])],
    ['clipped sound', sound(96_000).map((x) => Math.max(-4000, Math.min(4000, 2 * x)))],
    ['plain sound', sound(96_000)],
    ['whisper', sound(96_000).map((x) => Math.round(x / 400))],
  ];
  it.each(cases)('%s', async (_, plane) => {
    expect((await examine([plane])).findings).toEqual([]);
  });

  it.each(cases)('%s, 60 dB softer', async (_, plane) => {
    expect((await examine([plane.map((x) => Math.round(x / 1000))])).findings).toEqual([]);
  });

  it('the lowest bit of an older word, which rings alike again and again: no loss, however many values it has', async () => {
    const { findings } = await examine([olderWordRinging(400_000, 5)], 24, 48_000);
    expect(findings.filter(isLoss)).toEqual([]);
    // Of 26 without its own coincidences.
    expect(findings.length).toBeLessThanOrEqual(4);
  });

  test.for(['drums', 'tabla', 'bell', 'seashore', 'fox', 'piano'])('a real recording: %s', async (name, context) => {
    const { planes, bits, rateHz } = await loadMusic(await needMusic(context, name));
    expect((await examine(planes, bits, rateHz)).findings).toEqual([]);
  });
});

it('answers for a channel in which nothing was to be looked at again', async () => {
  const { verdicts } = await examine([sound(5000)]);
  expect(verdicts).toMatchObject([{ channel: 1, question: 'repeated-seen', answer: 0 }]);
});

describe('what nobody can see is not claimed', () => {
  it('a repeated block in a whisper that no joint betrays', async () => {
    const whisper = sound(60_000).map((x) => Math.round(x / 400));
    expect((await examine(withRepeats([whisper], [loss(20_000, 48)], 735))).findings).toEqual([]);
  });

  it('eight repeated samples out of a tone', async () => {
    const tone = Int32Array.from({ length: 60_000 }, (_, i) => Math.round(9000 * Math.sin(i / 20)));
    expect((await examine(withRepeats([tone], [loss(20_000, 8)], 735))).findings).toEqual([]);
  });
});

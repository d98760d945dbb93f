// Channels with timecode are recognised at any level, speed and either way, and told to be no sound; others never. Truth is what the test wrote.
import { describe, expect, it, test } from 'vitest';
import { memorySource, rate, stableJson } from '../../base/index.ts';
import { loadMusic, needMusic, REAL_MUSIC } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { makeTimecode, TIMECODE_RATES, wordsFrom } from '../../signal/testing/made-timecode.ts';
import { DETECTORS, examineSource } from '../index.ts';

const OWN = DETECTORS.filter(({ meta }) => meta.id === 'timecode' || meta.id === 'non-audio');
const RATE_25 = TIMECODE_RATES[2];
const signal25 = { rateHz: 48_000, framesPerSecond: 25 };

function examine(planes: readonly Int32Array[], hz = 48_000, blockFrames?: number) {
  const source = memorySource(planes, { name: 'test', rate: rate(hz), bits: 16 });
  return examineSource(source, OWN, blockFrames ? { blockFrames } : {});
}

async function verdictsOf(plane: Int32Array, hz = 48_000) {
  const { verdicts } = await examine([plane], hz);
  const one = (question: string) => verdicts.filter((verdict) => verdict.question === question);
  return { timecode: one('timecode')[0], isAudio: one('is-audio') };
}

describe('a channel with timecode', () => {
  it('is told with its code, and once to be no sound', async () => {
    const { timecode, isAudio } = await verdictsOf(makeTimecode(wordsFrom([1, 0, 0], 100, RATE_25), signal25).plane);
    expect(timecode.answer).toBe('01:00:00:00 to 01:00:03:24, 25');
    expect(timecode.confidence).toBeGreaterThan(0.999_999);
    expect(isAudio).toHaveLength(1);
    expect(isAudio[0]).toMatchObject({ answer: false, evidence: { looksLike: 'linear timecode' } });
  });

  it.each([
    ['at -40 dBFS', { peak: 328 }],
    ['behind noise 10 dB below it', { noiseDb: 10 }],
    ['at -40 dBFS behind noise 10 dB below it', { peak: 328, noiseDb: 10 }],
    ['backwards', { isReverse: true }],
    ['at a tenth of its speed', { speed: 0.1 }],
    ['at a tenth, backwards', { speed: 0.1, isReverse: true }],
    ['at four times its speed', { speed: 4 }],
    ['winding from 0.5 to 5', { speed: (share: number) => 0.5 + 4.5 * share }],
    ['at ten times its speed in 96 kHz', { speed: 10, rateHz: 96_000 }],
  ] as const)('is recognised %s', async (_name, signal) => {
    for (const each of TIMECODE_RATES) {
      const { plane } = makeTimecode(wordsFrom([1, 0, 0], 100, each), {
        ...signal25,
        framesPerSecond: each.framesPerSecond,
        ...signal,
      });
      const { timecode, isAudio } = await verdictsOf(plane, 'rateHz' in signal ? signal.rateHz : 48_000);
      expect(timecode?.answer, each.name).toContain('01:00:0');
      expect(isAudio.map(({ answer }) => answer)).toEqual([false]);
    }
  });

  it('that begins after ten seconds of sound is found from its first word, and its jump placed', async () => {
    const words = [...wordsFrom([1, 0, 0], 100, RATE_25), ...wordsFrom([2, 0, 0], 100, RATE_25)];
    const { plane, starts } = makeTimecode(words, signal25);
    const random = new Random(6);
    const sound = Int32Array.from({ length: 480_000 }, () => Math.round(800 * random.gaussian()));
    const both = new Int32Array(sound.length + plane.length);
    both.set(sound);
    both.set(plane, sound.length);
    const { findings, verdicts } = await examine([both]);
    const timecode = verdicts.find(({ question }) => question === 'timecode');
    expect(timecode?.answer).toMatch(/^01:00:00:0[0-2] to 02:00:03:24, 25$/);
    expect(findings).toMatchObject([{ kind: 'timecode-jump', channels: [1], measured: 89_900 }]);
    expect(Math.abs(findings[0].start - 480_000 - starts[100])).toBeLessThan(2);
  });

  it('is the same whatever the size of the blocks', async () => {
    const planes = [makeTimecode(wordsFrom([1, 0, 0], 60, RATE_25), { ...signal25, noiseDb: 15 }).plane];
    const whole = stableJson(await examine(planes));
    for (const blockFrames of [97, 4096, 30_000]) {
      expect(stableJson(await examine(planes, 48_000, blockFrames))).toBe(whole);
    }
  });
});

describe('a channel without', () => {
  it('gives no verdict: noise, a square wave, two levels at random', async () => {
    const random = new Random(7);
    for (const sample of [
      () => Math.round(3000 * random.gaussian()),
      (i: number) => (Math.floor(i / 11) % 2 ? 9000 : -9000),
      () => random.integer(2),
    ]) {
      const plane = Int32Array.from({ length: 480_000 }, (_, i) => sample(i));
      expect((await verdictsOf(plane)).timecode).toBeUndefined();
    }
  });

  test.for(REAL_MUSIC.map(({ name }) => name))('gives no verdict: %s', async (name, context) => {
    const { planes, rateHz } = await loadMusic(await needMusic(context, name));
    const { verdicts } = await examine(planes, rateHz);
    expect(verdicts.filter(({ question }) => question === 'timecode')).toEqual([]);
  });
});

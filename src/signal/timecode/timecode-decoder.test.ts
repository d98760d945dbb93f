// Timecode as tapes give it: noise, wow, band limit, quiet, drop-outs, other speeds; and what is no timecode. Truth is what the test wrote.
import { describe, expect, it, test } from 'vitest';
import { loadMusic, needMusic, REAL_MUSIC } from '../../media/testing/music.ts';
import { Random } from '../random.ts';
import { makeTimecode, readPlane, TIMECODE_RATES, wordsFrom } from '../testing/made-timecode.ts';
import { packWord } from './code-word.ts';
import { writeTimecode } from './encode-timecode.ts';
import { formatAddress } from './time-address.ts';
import { positionAt } from './time-line.ts';

const [, , RATE_25, RATE_DROP] = TIMECODE_RATES;
const signal25 = { rateHz: 48_000, framesPerSecond: 25 };

/** Root mean square and largest distance of the words' places from the truth. */
function placeErrors(plane: Int32Array, starts: readonly number[]) {
  const { words } = readPlane(plane);
  const errors = Array.from({ length: words.length }, (_, i) => {
    const { start } = words.at(i);
    return Math.min(...starts.map((truth) => Math.abs(truth - start)));
  });
  const rms = Math.sqrt(errors.reduce((sum, error) => sum + error ** 2, 0) / errors.length);
  return { count: words.length, rms, most: Math.max(...errors) };
}

/** One pole each side: what the reproducing head and a cheap input leave. */
function bandLimited(plane: Int32Array, lowHz: number, highHz: number): Int32Array {
  const [a, b] = [1 - Math.exp((-2 * Math.PI * highHz) / 48_000), Math.exp((-2 * Math.PI * lowHz) / 48_000)];
  let [low, high, before] = [0, 0, 0];
  return plane.map((x) => {
    low += a * (x - low);
    high = b * (high + low - before);
    before = low;
    return Math.round(high);
  });
}

describe('a word is placed', () => {
  it('to a tenth of a sample where the signal is clean', () => {
    const { plane, starts } = makeTimecode(wordsFrom([1, 0, 0], 60, RATE_DROP), {
      ...{ rateHz: 48_000, framesPerSecond: RATE_DROP.framesPerSecond, leadFrames: 1234.37 },
    });
    const { count, most } = placeErrors(plane, starts);
    expect(count).toBe(60);
    expect(most).toBeLessThan(0.1);
  });

  it('to half a sample behind noise 10 dB below it, and every word is read', () => {
    for (const rate of TIMECODE_RATES) {
      const { plane, starts } = makeTimecode(wordsFrom([1, 0, 0], 100, rate), {
        ...{ rateHz: 48_000, framesPerSecond: rate.framesPerSecond, leadFrames: 500.5, noiseDb: 10 },
      });
      const { count, rms } = placeErrors(plane, starts);
      expect(count, rate.name).toBeGreaterThanOrEqual(99);
      expect(rms, rate.name).toBeLessThan(0.25);
    }
  });
});

describe('timecode is read whole', () => {
  const words = wordsFrom([10, 59, 58], 120, RATE_25);
  const expectWhole = (plane: Int32Array, fewest = 119) => {
    const { reading } = readPlane(plane);
    expect(reading?.sections).toHaveLength(1);
    expect(reading?.words).toBeGreaterThanOrEqual(fewest);
    expect(reading?.jumps).toEqual([]);
    return reading;
  };

  it('at -40 and at -70 dBFS of 16 bits', () => {
    expectWhole(makeTimecode(words, { ...signal25, peak: 32_768 * 10 ** (-40 / 20) }).plane);
    expectWhole(makeTimecode(words, { ...signal25, peak: 32_768 * 10 ** (-70 / 20) }).plane);
  });

  it('at -40 dBFS behind noise 10 dB below it', () => {
    expectWhole(makeTimecode(words, { ...signal25, peak: 328, noiseDb: 10 }).plane);
  });

  it('between 300 Hz and 3 kHz, and behind noise as well', () => {
    const { plane } = makeTimecode(words, signal25);
    expectWhole(bandLimited(plane, 300, 3000));
    const random = new Random(2);
    expectWhole(
      bandLimited(plane, 300, 3000).map((x) => Math.round(x + 3000 * random.gaussian())),
      118,
    );
  });

  it('with a constant beside it, and upside down', () => {
    const { plane } = makeTimecode(words, signal25);
    expectWhole(plane.map((x) => 8000 - x));
  });

  it('beside hum of half its level, with flutter of 5 % at 20 Hz, and behind noise 4 dB below it', () => {
    const { plane } = makeTimecode(words, signal25);
    expectWhole(plane.map((x, i) => Math.round(x + 8000 * Math.sin((2 * Math.PI * 50 * i) / 48_000))));
    const speed = (share: number) => 1 + 0.05 * Math.sin(2 * Math.PI * 20 * 4.8 * share);
    expectWhole(makeTimecode(words, { ...signal25, speed }).plane);
    expectWhole(makeTimecode(words, { ...signal25, noiseDb: 4 }).plane, 116);
  });

  it('with wow of 3 % at 4 Hz, and the map follows it', () => {
    const speed = (share: number) => 1 + 0.03 * Math.sin(2 * Math.PI * 4 * 4.8 * share);
    const { plane, starts } = makeTimecode(words, { ...signal25, speed });
    const section = expectWhole(plane)?.sections[0];
    const numbers = starts.slice(0, -1).map((truth, k) => ({ number: (section?.map[0].number ?? 0) + k, truth }));
    for (const { number, truth } of numbers) {
      expect(Math.abs(positionAt(section?.map ?? [], number) - truth)).toBeLessThan((section?.mapTolerance ?? 0) + 0.5);
    }
  });

  it('from a tenth of the speed to six times it in one wind', () => {
    const speed = (share: number) => 0.1 * 60 ** share;
    const { plane } = makeTimecode(words, { ...signal25, speed });
    expectWhole(plane, 118);
  });

  it('whatever the size of the blocks', () => {
    const { plane } = makeTimecode(words.slice(0, 20), { ...signal25, noiseDb: 12 });
    const whole = readPlane(plane).reading;
    for (const block of [1, 7, 4096, 8192, 30_000]) expect(readPlane(plane, 48_000, block).reading).toEqual(whole);
  });
});

describe('what happens along the tape', () => {
  it('a drop-out is a gap, the code goes on behind it', () => {
    const { plane, starts } = makeTimecode(wordsFrom([1, 0, 0], 100, RATE_25), signal25);
    plane.fill(0, Math.round(starts[40]) + 700, Math.round(starts[44]) + 100);
    const { reading } = readPlane(plane);
    expect(reading?.sections).toHaveLength(1);
    expect(reading?.sections[0]).toMatchObject({ words: 95, missing: 5 });
    expect(reading?.gaps).toHaveLength(1);
    expect(Math.abs((reading?.gaps[0].start ?? 0) - starts[40])).toBeLessThan(1);
    expect(reading?.gaps[0].missing).toBe(5);
  });

  it('a jump is placed where the code breaks off, with its size', () => {
    const words = [...wordsFrom([1, 0, 0], 50, RATE_25), ...wordsFrom([1, 0, 20], 50, RATE_25)];
    const { plane, starts } = makeTimecode(words, signal25);
    const { reading } = readPlane(plane);
    expect(reading?.jumps).toMatchObject([{ kind: 'jump', frames: 450, unreadFrames: 0 }]);
    expect(Math.abs((reading?.jumps[0].at ?? 0) - starts[50])).toBeLessThan(1);
    expect(formatAddress(reading?.jumps[0].from ?? (words[0] as never), false)).toBe('01:00:01:24');
  });

  it('a still code and one that runs again', () => {
    const run = wordsFrom([1, 0, 0], 40, RATE_25);
    const words = [...run.slice(0, 20), ...Array.from({ length: 15 }, () => run[19]), ...run.slice(20)];
    const { reading } = readPlane(makeTimecode(words, signal25).plane);
    expect(reading?.jumps.map(({ kind }) => kind)).toEqual(['stop', 'start']);
    expect(reading?.sections.map(({ kind, words: count }) => [kind, count])).toEqual([
      ['running', 20],
      ['still', 15],
      ['running', 20],
    ]);
  });

  it('a turn of the tape, and midnight', () => {
    const words = wordsFrom([23, 59, 59], 50, RATE_25);
    const there = makeTimecode(words, signal25).plane;
    const back = makeTimecode(words, { ...signal25, isReverse: true }).plane;
    const plane = new Int32Array(there.length + back.length);
    plane.set(there);
    plane.set(back, there.length);
    const { reading } = readPlane(plane);
    expect(reading?.jumps.map(({ kind }) => kind)).toEqual(['turn']);
    expect(reading?.sections.map(({ isReverse }) => isReverse)).toEqual([false, true]);
    expect(reading?.sections[0].line?.step).toBeCloseTo(1920, 3);
  });

  it('a single misread word is put aside', () => {
    const words = wordsFrom([1, 0, 0], 30, RATE_25);
    words[12] = packWord({ address: { hours: 7, minutes: 7, seconds: 7, frames: 7 } }, 25);
    const { reading } = readPlane(makeTimecode(words, signal25).plane);
    expect(reading).toMatchObject({ words: 29, unconfirmed: 1, jumps: [] });
    expect(reading?.gaps).toMatchObject([{ missing: 1 }]);
  });
});

describe('what is no timecode gives none', () => {
  const none = (plane: Int32Array) => {
    expect(readPlane(plane).reading).toBeNull();
  };

  it('silence, nothing, one sample', () => {
    none(new Int32Array(48_000));
    none(new Int32Array(0));
    none(new Int32Array([5]));
  });

  it('square waves of the two lengths of timecode, and of all others near', () => {
    for (const half of [5, 10, 12.5, 20, 25, 40]) {
      none(Int32Array.from({ length: 96_000 }, (_, i) => (Math.floor(i / half) % 2 ? 9000 : -9000)));
    }
  });

  it('words of random data, each with its sync word', () => {
    const random = new Random(8);
    const words = Array.from({ length: 1500 }, () => ({ low: random.uint32(), high: random.uint32() }));
    const { samples } = writeTimecode(words, { ...signal25, speed: 3, peak: 9000 });
    const { words: single, reading } = readPlane(Int32Array.from(samples, Math.round));
    // Digits are possible in 3.9 % of random words, order is in none.
    expect(single.length).toBeGreaterThan(20);
    expect(single.length).toBeLessThan(120);
    expect(reading).toBeNull();
  });

  it('random biphase bits without sync words', () => {
    const random = new Random(4);
    let [at, level] = [0, 9000];
    const plane = new Int32Array(960_000);
    while (at < plane.length) {
      // 6 samples a half bit: 4000 bits a second.
      plane.fill(level, at, at + 6);
      if (random.integer(2)) level = -level;
      plane.fill(level, at + 6, at + 12);
      level = -level;
      at += 12;
    }
    expect(readPlane(plane).words).toHaveLength(0);
  });

  it('white noise', () => {
    const random = new Random(9);
    none(Int32Array.from({ length: 480_000 }, () => Math.round(3000 * random.gaussian())));
  });

  test.for(REAL_MUSIC.map(({ name }) => name))('a real recording: %s', async (name, context) => {
    const { planes, rateHz } = await loadMusic(await needMusic(context, name));
    for (const plane of planes) expect(readPlane(plane, rateHz).reading).toBeNull();
  });
});

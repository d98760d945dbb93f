// Timecode written by libltc is read by us and the other way round: all rates, both ways, a tenth to ten times the speed. At 48 kHz the
// library's edges on whole samples are no longer told apart past four times the speed of 30 frames, by the library either; faster is tried at
// 96 kHz, and at 48 kHz through a converter (sox).
import { execFile } from 'node:child_process';
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { describe, expect, it } from 'vitest';
import { needTool, type Skipping, tempFolder } from '../../media/testing/tools.ts';
import { makeTimecode, readPlane, type TestRate, TIMECODE_RATES, wordsFrom } from '../testing/made-timecode.ts';
import { type JudgedRate, readWithLibrary, writeWithLibrary } from '../testing/timecode-judge.ts';
import { addressOf, formatAddress, frameNumber } from './time-address.ts';

const run = promisify(execFile);
const WORDS = 40;
const FIRST = [0, 59, 59] as const;

const SPEEDS: readonly (readonly [speed: number, rateHz: number])[] = [
  [0.1, 48_000],
  [0.5, 44_100],
  [1, 32_000],
  [1, 48_000],
  [2, 48_000],
  [4, 48_000],
  [4, 44_100],
  [8, 96_000],
  [10, 96_000],
];

const CASES = TIMECODE_RATES.flatMap((rate) =>
  SPEEDS.flatMap(([speed, rateHz]) => [false, true].map((isReverse) => ({ rate, speed, rateHz, isReverse }))),
);

function judged({ numbering, framesPerSecond }: TestRate): JudgedRate {
  return { ...numbering, framesPerSecond };
}

function addressAfter({ numbering }: TestRate, frames: number): string {
  const [hours, minutes, seconds] = FIRST;
  const first = frameNumber({ hours, minutes, seconds, frames: 0 }, numbering);
  return formatAddress(addressOf(first + frames, numbering), numbering.isDrop);
}

function written(context: Skipping, rate: TestRate, speed: number, rateHz: number, isReverse: boolean) {
  const first = [...FIRST, 0] as const;
  const signal = { rate: judged(rate), rateHz, first, words: WORDS, speed, isReverse, userBits: 0x7130_1991 };
  return writeWithLibrary(context, signal);
}

function expectReading(plane: Int32Array, { rate, speed, rateHz, isReverse }: (typeof CASES)[number], fewest: number) {
  const { reading } = readPlane(plane, rateHz);
  expect(reading?.sections).toHaveLength(1);
  const [section] = reading?.sections ?? [];
  expect(reading?.words).toBeGreaterThanOrEqual(fewest);
  expect(reading?.unconfirmed).toBe(0);
  expect(section.isReverse).toBe(isReverse);
  expect(section.numbering).toEqual(rate.numbering);
  expect(reading?.user.map(({ value }) => value)).toEqual(['19910317']);
  const ideal = rateHz / (rate.framesPerSecond * speed);
  const word = (k: number) => addressAfter(rate, isReverse ? -k : k);
  const lost = Math.round(section.start / ideal);
  expect(formatAddress(section.first, rate.numbering.isDrop)).toBe(word(lost));
  // The library puts edges on whole samples, which moves a word by up to one, the first by two at a tenth of the speed.
  expect(Math.abs(section.start - lost * ideal)).toBeLessThan(2);
  expect(Math.abs((section.line?.step ?? 0) - (isReverse ? -ideal : ideal))).toBeLessThan(0.05);
}

describe('timecode of the library', () => {
  it.for(CASES)('$rate.name at speed $speed, $rateHz Hz, reverse $isReverse is read whole', async (one, context) => {
    const plane = await written(context, one.rate, one.speed, one.rateHz, one.isReverse);
    // Where half a bit lasts 2.002 samples the library shifts an edge by one sample, half a half bit, in every fourth word.
    const isCoarse = one.rateHz / (one.rate.framesPerSecond * one.speed * 160) < 2.1;
    expectReading(plane, one, isCoarse ? 0.6 * WORDS : WORDS - 1);
  });

  it('is placed by us where the library places it', async (context) => {
    const [, , rate] = TIMECODE_RATES;
    const plane = await written(context, rate, 1, 48_000, false);
    const theirs = await readWithLibrary(context, plane, 1920);
    const { words } = readPlane(plane);
    expect(theirs.length).toBeGreaterThan(30);
    for (const [i, word] of theirs.entries()) expect(Math.abs(word.start - words.at(i).start)).toBeLessThan(1.5);
  });

  it('through a converter is read in 48 kHz at ten times the speed, 30 frames at nine times', async (context) => {
    for (const rate of TIMECODE_RATES) {
      // At ten times, ones of 30 frames are the limit of the sampling rate itself.
      const speed = rate.numbering.count === 30 ? 9 : 10;
      for (const isReverse of [false, true]) {
        const plane = await throughConverter(context, await written(context, rate, speed, 480_000, isReverse));
        expectReading(plane, { rate, speed, rateHz: 48_000, isReverse }, WORDS - 2);
      }
    }
  });
});

describe('our timecode', () => {
  it.for(CASES)(
    '$rate.name at speed $speed, $rateHz Hz, reverse $isReverse is read by the library',
    async (one, context) => {
      const { rate, speed, rateHz, isReverse } = one;
      const words = wordsFrom(FIRST, WORDS, rate);
      const samplesPerWord = rateHz / (rate.framesPerSecond * speed);
      const signal = {
        rateHz,
        framesPerSecond: rate.framesPerSecond,
        speed,
        isReverse,
        leadFrames: samplesPerWord / 20,
      };
      const { plane, starts } = makeTimecode(words, signal);
      const theirs = await readWithLibrary(context, plane, samplesPerWord);
      const right = words.filter((_, k) => {
        const timecode = addressAfter(rate, isReverse ? WORDS - 1 - k : k).replace(';', ':');
        const word = theirs.find(({ start }) => Math.abs(start - starts[k]) < samplesPerWord / 8);
        return word?.timecode === timecode && word.userBits === 0x7130_1991 && word.isReverse === isReverse;
      });
      // It misreads some words whose half bits last 2.5 samples or less, unless their edges stand on whole samples; the last may be lost.
      const isFine = samplesPerWord / 160 < 2.6;
      expect(right.length).toBeGreaterThanOrEqual(isFine ? 0.6 * WORDS : WORDS - 1);
      expect(theirs.every(({ isDrop }) => isDrop === rate.numbering.isDrop) || isFine).toBe(true);
    },
  );
});

/** 480 kHz to 48 kHz: what a recorder's converter makes of a fast wind. */
async function throughConverter(context: Skipping, plane: Int32Array): Promise<Int32Array> {
  needTool(context, 'sox');
  const folder = await tempFolder();
  const [fast, slow] = [join(folder, 'fast.raw'), join(folder, 'slow.raw')];
  await writeFile(
    fast,
    Int16Array.from(plane, (x) => x >> 2),
  );
  const kind = ['-t', 'raw', '-e', 'signed', '-b', '16', '-c', '1'];
  await run('sox', ['-D', ...kind, '-r', '480000', fast, ...kind, '-r', '48000', slow, 'rate', '-v']);
  const bytes = await readFile(slow);
  return Int32Array.from(new Int16Array(bytes.buffer, bytes.byteOffset, bytes.length >> 1));
}

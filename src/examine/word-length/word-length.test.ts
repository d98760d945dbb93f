// Word lengths that others put into files (RFC 9639 bench) and that we made; what must stay "cannot tell".
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { openAudio } from '../../media/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { needTestData, type Skipping } from '../../media/testing/tools.ts';
import { Random } from '../../signal/index.ts';
import { examineSource } from '../pass.ts';
import { wordLength } from './word-length.ts';

async function verdictOf(plane: Int32Array, bits: number) {
  const source = memorySource([plane], { name: 'test', rate: rate(48_000), bits });
  return (await examineSource(source, [wordLength])).verdicts[0];
}

function noise(frames: number, bits: number, seed = 1): Int32Array {
  const random = new Random(seed);
  return Int32Array.from({ length: frames }, () => Math.round(random.gaussian() * 2 ** (bits - 4)));
}

const MUSIC = ['guitar', 'choir', 'flute', 'fox', 'tabla', 'piano', 'bell', 'announcement-front'];

/** One second of 16 bits. */
async function music(context: Skipping, name: string): Promise<Int32Array> {
  return (await loadMusic(await needMusic(context, name))).planes[0].slice(0, 44_100);
}

describe('word length', () => {
  it.for([
    ['22_-_12_bit_per_sample.flac', 12],
    ['37_-_20_bit_per_sample.flac', 20],
    ['43_-_8_channels_(7.1).flac', 16],
    ['60_-_mono_audio.flac', 16],
  ] as const)('%s has %i bits (RFC 9639 bench file, named by its makers)', async ([name, bits], context) => {
    const folder = needTestData(context);
    const audio = await openAudio(join(folder, 'flac', name));
    const { verdicts } = await examineSource(audio, [wordLength]);
    await audio.close();
    expect(verdicts.length).toBe(audio.info.channels);
    for (const verdict of verdicts) expect(verdict.answer).toBe(bits);
  });

  it.each([8, 10, 12, 13, 14, 15, 16, 18, 20, 22, 24])('finds %i bits left-justified in 24', async (bits) => {
    const plane = noise(20_000, bits).map((x) => x * 2 ** (24 - bits));
    expect((await verdictOf(plane, 24)).answer).toBe(bits);
  });

  it('is not misled by level: a whisper of 16 bits is 16 bits', async () => {
    const quiet = noise(20_000, 6).map((x) => x * 256);
    expect((await verdictOf(quiet, 24)).answer).toBe(16);
  });

  it('counts strays without changing the answer', async () => {
    const plane = noise(20_000, 16).map((x, i) => x * 256 + (i % 4000 === 7 ? 128 : 0));
    const verdict = await verdictOf(plane, 24);
    expect(verdict.answer).toBe(16);
    expect(verdict.evidence.straySamples).toBe(5);
  });

  it('sees bits stuck at one as padding', async () => {
    const plane = noise(20_000, 16).map((x) => x * 256 + 255);
    const verdict = await verdictOf(plane, 24);
    expect(verdict.answer).toBe(16);
    expect(verdict.evidence.padding).toBe('bits stuck at one');
  });

  it.each([
    ['silence', new Int32Array(5000)],
    ['a constant', new Int32Array(5000).fill(-256)],
    ['ten samples', noise(10, 16)],
  ])('cannot tell from %s', async (_, plane) => {
    expect((await verdictOf(plane, 16)).answer).toBe('cannot tell');
  });
});

describe('stuck bits', () => {
  const stuckOf = async (plane: Int32Array, bits: number) => {
    const source = memorySource([plane], { name: 'test', rate: rate(48_000), bits });
    const { verdicts } = await examineSource(source, [wordLength]);
    return verdicts.find(({ question }) => question === 'stuck-bits');
  };
  const forced = (plane: Int32Array, bit: number, value: 0 | 1) =>
    plane.map((x) => (value ? x | (1 << bit) : x & ~(1 << bit)));

  it.for([1, 3, 7, 10])('bit %i of one second of real music, at either value', async (bit, context) => {
    for (const value of [0, 1] as const) {
      const verdict = await stuckOf(forced(await music(context, 'guitar'), bit, value), 16);
      expect(verdict?.answer).toBe(`bit ${bit} at ${value}`);
      expect(verdict?.confidence).toBeGreaterThan(0.999);
    }
  });

  it('two at once in 24 bits', async () => {
    const plane = forced(forced(noise(48_000, 24), 5, 0), 14, 1);
    expect((await stuckOf(plane, 24))?.answer).toBe('bit 5 at 0, bit 14 at 1');
  });

  it.for(MUSIC)('none in %s as it is', async (name, context) => {
    expect(await stuckOf(await music(context, name), 16)).toBeUndefined();
  });

  it.each([
    ['padding below the word', noise(20_000, 12).map((x) => x * 16)],
    ['padding at one', noise(20_000, 12).map((x) => x * 16 + 15)],
    ['a whisper', noise(20_000, 6)],
    ['an offset larger than the sound', noise(20_000, 8).map((x) => x + 5000)],
    ['two levels and a little noise', noise(20_000, 5).map((x, i) => x + (i % 200 < 100 ? 1002 : -1002))],
    ['a square wave', Int32Array.from({ length: 20_000 }, (_, i) => (i % 100 < 50 ? 1000 : -1000))],
  ])('%s is none', async (_, plane) => {
    expect(await stuckOf(plane, 16)).toBeUndefined();
  });
});

// Word lengths that others put into files (RFC 9639 bench) and that we made; what must stay "cannot tell".
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { openAudio } from '../../media/index.ts';
import { needTestData } from '../../media/testing/tools.ts';
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

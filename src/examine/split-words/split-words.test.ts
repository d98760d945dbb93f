// Real 24-bit recordings and 16-bit ones with made lower bits, spread over two tracks as formats.md 7 describes (R39): the right track is named, and
// none where there is none. By chance: many tracks of noise that belong to nobody.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { examineSource } from '../pass.ts';
import { splitWords } from './split-words.ts';

async function answers(planes: readonly Int32Array[], bits = 16) {
  const source = memorySource(planes, { name: 'test', rate: rate(48_000), bits });
  const { verdicts } = await examineSource(source, [splitWords]);
  return verdicts.map(({ channel, answer, evidence }) => ({ channel, answer, evidence }));
}

const upper = (v: Int32Array) => v.map((x) => x >> 8);
const lower = (v: Int32Array) => v.map((x) => x & 255);
const noise = (seed: number, frames: number, n = 256) => {
  const random = new Random(seed);
  return Int32Array.from({ length: frames }, () => random.integer(n));
};

describe.each(['viola', 'guitar', 'choir', 'bell', 'announcement-front'])('%s', (name) => {
  it.for([
    ['at the bottom of the word', 16, (x: number) => x],
    ['at the top of the word', 16, (x: number) => (x << 24) >> 16],
    ['in a container of 24 bits', 24, (x: number) => (x << 24) >> 8],
  ] as const)('lower bits %s', async ([, bits, place], context) => {
    const words = await wordsOf(await needMusic(context, name));
    const up = bits === 24 ? 8 : 0;
    const other = noise(3, words.length, 4000).map((x) => (x - 2000) << up);
    const found = await answers([other, upper(words).map((x) => x << up), lower(words).map(place)], bits);
    expect(found.map(({ channel, answer }) => [channel, answer])).toEqual([[3, 'lower 8 bits of channel 2']]);
    expect(found[0].evidence).toMatchObject({ lowerBits: 8, upper: 2, upperShift: up, isSigned: false });
  });
});

/** 24-bit words. A 16-bit recording gets the noise of a converter below its own: what a 24-bit recording would hold there. */
async function wordsOf(path: string): Promise<Int32Array> {
  const { planes, bits, rateHz } = await loadMusic(path);
  const random = new Random(1);
  return planes[0].slice(0, 8 * rateHz).map((x) => (bits === 24 ? x : 256 * x + Math.round(256 * random.gaussian())));
}

it.for(['seashore', 'drums', 'fox'])(
  '%s is too loud and short: the right track or "cannot tell"',
  async (name, context) => {
    const words = await wordsOf(await needMusic(context, name));
    const [found] = await answers([upper(words), lower(words)]);
    expect(['cannot tell', 'lower 8 bits of channel 1']).toContain(found.answer);
  },
);

it('a word that was rounded: the lower bits are signed', async () => {
  const random = new Random(9);
  const words = Int32Array.from({ length: 100_000 }, (_, i) =>
    Math.round(9e5 * Math.sin(i / 30) + 3000 * random.gaussian()),
  );
  const up = words.map((x) => Math.round(x / 256));
  const found = await answers([up, words.map((x, i) => (x - 256 * up[i]) & 255)]);
  expect(found[0]).toMatchObject({ answer: 'lower 8 bits of channel 1', evidence: { isSigned: true } });
});

it('100 tracks of eight noisy bits beside real music belong to nobody', async (context) => {
  const { planes } = await loadMusic(await needMusic(context, 'guitar'));
  const music = planes.map((plane) => plane.slice(0, 100_000));
  const said: unknown[] = [];
  for (let seed = 0; seed < 100; seed += 10) {
    const tracks = Array.from({ length: 10 }, (_, i) => noise(100 + seed + i, 100_000));
    said.push(...(await answers([...music, ...tracks])).map(({ answer }) => answer));
  }
  expect(said).toHaveLength(100);
  expect(new Set(said)).toEqual(new Set(['cannot tell']));
});

it('a track in eight bits that holds the same music is not its lower half', async (context) => {
  const { planes } = await loadMusic(await needMusic(context, 'guitar'));
  const music = planes[0].slice(0, 200_000);
  const found = await answers([music, music.map((x) => (x >> 8) << 8), planes[1].slice(0, 200_000)]);
  expect(found.every(({ answer }) => answer === 'cannot tell')).toBe(true);
});

it('says nothing where no track moves in few bits', async (context) => {
  const { planes } = await loadMusic(await needMusic(context, 'guitar'));
  expect(await answers(planes)).toEqual([]);
});

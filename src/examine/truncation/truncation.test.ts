// What was done to the low bits is known, because it was done here: the right answer or "cannot tell", never another one.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic, REAL_MUSIC } from '../../media/testing/music.ts';
import { Random, roundTrip } from '../../signal/index.ts';
import { eightMm, nonlinear12 } from '../../tape/index.ts';
import { examineSource } from '../pass.ts';
import { truncation } from './truncation.ts';

async function answersOf(plane: Int32Array, bits = 16) {
  const source = memorySource([plane], { name: 'test', rate: rate(44_100), bits });
  const { verdicts } = await examineSource(source, [truncation]);
  const answer = (question: string) => verdicts.find((verdict) => verdict.question === question)?.answer;
  return { dither: answer('dither'), rounding: answer('rounding') };
}

const silentPart = (frames: number) => Math.floor(frames / 2);

describe('triangular dither', () => {
  it.each([0, 0.2, -0.4])('of two steps over nothing, offset %f', async (offset) => {
    const random = new Random(1);
    const plane = Int32Array.from({ length: 100_000 }, () => Math.round(offset + random.triangular()));
    expect((await answersOf(plane)).dither).toBe('triangular');
    const wide = plane.map((x) => x * 256);
    expect((await answersOf(wide, 24)).dither).toBe('triangular');
  });

  it.for(['tabla', 'fox'])('in the silence after %s', async (name, context) => {
    const { planes } = await loadMusic(await needMusic(context, name));
    const random = new Random(2);
    const plane = planes[0].map((x, i) => Math.round((i < silentPart(planes[0].length) ? x : 0) + random.triangular()));
    expect((await answersOf(plane)).dither).toBe('triangular');
  });

  it.each([0.3, 0.41, 0.5, 0.7, 1.2])('is not what bell-shaped noise of %f steps looks like', async (sigma) => {
    const random = new Random(3);
    const plane = Int32Array.from({ length: 200_000 }, () => Math.round(sigma * random.gaussian()));
    expect((await answersOf(plane)).dither).toBe('cannot tell');
  });

  it('nor even dither of one step, nor coloured noise', async () => {
    const random = new Random(4);
    const even = Int32Array.from({ length: 200_000 }, () => Math.round(0.2 + random.uniform() - 0.5));
    expect((await answersOf(even)).dither).toBe('cannot tell');
    const white = Float64Array.from({ length: 200_000 }, () => random.triangular());
    const coloured = Int32Array.from(white, (x, i) => Math.round(0.7 * (x + (white[i - 1] ?? 0))));
    expect((await answersOf(coloured)).dither).toBe('cannot tell');
  });
});

describe('no dither', () => {
  it('shows where a sound dies away to single steps', async () => {
    const plane = Int32Array.from({ length: 441_000 }, (_, i) =>
      Math.round(6000 * Math.exp(-i / 40_000) * Math.sin(i / 60)),
    );
    expect((await answersOf(plane)).dither).toBe('none');
    const random = new Random(5);
    const dithered = Int32Array.from({ length: 441_000 }, (_, i) =>
      Math.round(6000 * Math.exp(-i / 40_000) * Math.sin(i / 60) + random.triangular()),
    );
    expect((await answersOf(dithered)).dither).not.toBe('none');
  });
});

describe('noise over a shorter word', () => {
  it.for([
    [12, 16, 2],
    [14, 16, 0.6],
    [16, 24, 20],
    [16, 24, 2],
    [20, 24, 2],
  ] as const)('%i bits in %i, noise of %f steps', async ([word, container, sigma], context) => {
    const { planes } = await loadMusic(await needMusic(context, 'tabla'));
    const random = new Random(6);
    const unit = 2 ** (container - word);
    const words = planes[0].map((x) =>
      word <= 16 ? x >> (16 - word) : x * 2 ** (word - 16) + random.integer(2 ** (word - 16)),
    );
    const plane = words.slice(0, 220_500).map((x) => Math.round(x * unit + sigma * random.gaussian()));
    expect((await answersOf(plane, container)).dither).toBe(`noise over ${word}-bit words`);
  });

  it('as wide as the step or wider: nobody can tell', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'tabla'));
    const random = new Random(7);
    for (const noise of [() => random.integer(256), () => Math.round(256 * random.triangular())]) {
      const plane = planes[0].map((x) => x * 256 + noise());
      expect((await answersOf(plane, 24)).dither).toBe('cannot tell');
    }
  });
});

describe('rounding', () => {
  it.for(['tabla', 'fox', 'drums', 'bell'])(
    '%s: toward zero is seen, downwards and to nearest are not told',
    async (name, context) => {
      const { planes } = await loadMusic(await needMusic(context, name));
      const toward = await answersOf(planes[0].map((x) => Math.trunc(x / 16)));
      expect(['toward zero', 'cannot tell']).toContain(toward.rounding);
      expect((await answersOf(planes[0].map((x) => Math.floor(x / 16)))).rounding).toBe('cannot tell');
      expect((await answersOf(planes[0].map((x) => Math.round(x / 16)))).rounding).toBe('cannot tell');
    },
  );

  it('toward zero in ten seconds of tabla', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'tabla'));
    expect((await answersOf(planes[0].map((x) => Math.trunc(x / 16) * 16))).rounding).toBe('toward zero');
  });
});

describe('real recordings', () => {
  const HAVE_COMBS = ['guitar', 'violins', 'choir', 'flute', 'seashore'];
  it.for(REAL_MUSIC.map(({ name }) => name))('%s as it is, and through the laws of tape', async (name, context) => {
    const { planes, bits } = await loadMusic(await needMusic(context, name));
    const plain = await answersOf(planes[0], bits);
    expect(['none', 'cannot tell']).toContain(plain.dither);
    if (!HAVE_COMBS.includes(name)) expect(plain.rounding).toBe('cannot tell');
    if (bits !== 16) return;
    for (const altered of [
      planes[0].map((x) => roundTrip(nonlinear12, x)),
      planes[0].map((x) => roundTrip(eightMm(), x, 6)),
    ]) {
      expect(['none', 'cannot tell']).toContain((await answersOf(altered)).dither);
    }
  });

  it.each([
    ['silence', new Int32Array(50_000)],
    ['a sine', Int32Array.from({ length: 96_000 }, (_, i) => Math.round(20_000 * Math.sin(i / 7)))],
    ['a square wave', Int32Array.from({ length: 96_000 }, (_, i) => (i % 200 < 100 ? 3 : -3))],
    ['ten samples', Int32Array.from({ length: 10 }, (_, i) => i)],
  ])('%s', async (_, plane) => {
    const { dither, rounding } = await answersOf(plane);
    expect(dither).not.toBe('triangular');
    expect(rounding).toBe('cannot tell');
  });
});

// Gains put into real recordings of which the detector, sox's histogram and the eye find no earlier comb: the right gain or "cannot
// tell", never another one; and what must not be called a gain. A power of two more or less is the same comb (other word length).
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random, roundTrip } from '../../signal/index.ts';
import { eightMm, nonlinear12 } from '../../tape/index.ts';
import { examineSource } from '../pass.ts';
import { nameGain } from './gain-name.ts';
import { scaledLattice } from './scaled-lattice.ts';

async function verdictOf(plane: Int32Array, bits = 16) {
  const source = memorySource([plane], { name: 'test', rate: rate(44_100), bits });
  return (await examineSource(source, [scaledLattice])).verdicts[0];
}

const clip = (x: number, bits: number) => Math.max(-(2 ** (bits - 1)), Math.min(2 ** (bits - 1) - 1, x));
const scaled = (plane: Int32Array, gain: number, bits = 16) => plane.map((x) => clip(Math.round(x * gain), bits));
/** equal but for a power of two */
const sameComb = (answer: number, gain: number) => {
  const octaves = Math.log2(answer / gain);
  return Math.abs(octaves - Math.round(octaves)) < 1e-4;
};

const GAINS = [0.7, 1.1, 3, 10 ** (2.3 / 20)];

describe.each(['tabla', 'electric-guitar'])('%s', (name) => {
  it.for(GAINS)('a gain of %f', async (gain, context) => {
    const { planes } = await loadMusic(await needMusic(context, name));
    for (const seconds of [1, 10]) {
      const { answer, evidence } = await verdictOf(scaled(planes[0].slice(0, seconds * 44_100), gain));
      if (answer === 'cannot tell') continue;
      expect(Math.abs((answer as number) - gain), `${seconds} s: ${answer}`).toBeLessThan(
        (evidence.uncertainty as number) + 1e-6 * gain,
      );
    }
  });

  it('none as it is, halved, doubled; and none or "cannot tell" through dither and the laws of tape', async (context) => {
    const plane = (await loadMusic(await needMusic(context, name))).planes[0];
    const random = new Random(1);
    for (const gain of [1, 0.5, 2]) {
      const { answer } = await verdictOf(scaled(plane, gain));
      expect(['none', 'cannot tell'], `gain ${gain}`).toContain(answer);
    }
    const unscaled = {
      dithered: plane.map((x) => clip(Math.round(x * 0.7 + random.triangular()), 16)),
      'twelve-bit law': plane.map((x) => roundTrip(nonlinear12, x)),
      '8 mm law': plane.map((x) => roundTrip(eightMm(), x, 6)),
      'twelve bits': plane.map((x) => x & ~15),
    };
    for (const [what, altered] of Object.entries(unscaled)) {
      const { answer } = await verdictOf(altered);
      expect(['none', 'cannot tell'], what).toContain(answer);
    }
  });
});

describe('short words in wide containers', () => {
  it.for([
    [16, 24],
    [12, 24],
    [20, 24],
    [14, 16],
    [10, 16],
    [8, 16],
    [16, 32],
    [24, 32],
  ] as const)('%i bits in %i', async ([word, container], context) => {
    const plane = (await loadMusic(await needMusic(context, 'drums'))).planes[0];
    const random = new Random(2);
    // Fresh low bits for words beyond the source's 16.
    const words = plane.map((x) =>
      word <= 16 ? x >> (16 - word) : x * 2 ** (word - 16) + random.integer(2 ** (word - 16)),
    );
    const unit = 2 ** (container - word);
    for (const gain of [0.7, 0.9, 1]) {
      const { answer } = await verdictOf(scaled(words, gain * unit, container), container);
      if (gain === 1) expect(['none', 'cannot tell']).toContain(answer);
      else if (typeof answer === 'number') expect(sameComb(answer, gain), `${gain}: ${answer}`).toBe(true);
      else expect(answer, `${gain}`).toBe('cannot tell');
    }
  });

  it('names 0.7 of 16-bit words in a 24-bit file', async (context) => {
    const plane = (await loadMusic(await needMusic(context, 'tabla'))).planes[0];
    const verdict = await verdictOf(scaled(plane, 0.7 * 256, 24), 24);
    expect(verdict.answer).toBeCloseTo(0.7, 5);
    expect(verdict.evidence).toMatchObject({ wordBits: 16, ratio: '7/10' });
  });
});

describe('the comb', () => {
  it('is named with odds where it is plain: 1.5, 3 and 0.9 on ten seconds of tabla', async (context) => {
    const plane = (await loadMusic(await needMusic(context, 'tabla'))).planes[0];
    for (const gain of [1.5, 3, 0.9]) {
      const verdict = await verdictOf(scaled(plane, gain));
      expect(verdict.answer).toBeCloseTo(gain, 6);
      expect(verdict.evidence.log10Odds).toBeGreaterThan(100);
    }
  });

  it('survives one sample in two hundred off it', async (context) => {
    const plane = scaled((await loadMusic(await needMusic(context, 'tabla'))).planes[0], 1.5);
    for (let i = 200; i + 1 < plane.length; i += 200) plane[i] = (plane[i - 1] + plane[i + 1]) >> 1;
    expect((await verdictOf(plane)).answer).toBeCloseTo(1.5, 6);
  });

  it.each([
    ['silence', new Int32Array(5000)],
    ['a sine', Int32Array.from({ length: 96_000 }, (_, i) => Math.round(20_000 * Math.sin(i / 7)))],
    [
      'a sine of a whole number of samples',
      Int32Array.from({ length: 96_000 }, (_, i) => Math.round(20_000 * Math.sin((Math.PI * i) / 24))),
    ],
    ['a ramp', Int32Array.from({ length: 60_000 }, (_, i) => i - 30_000)],
    ['three hundred samples', Int32Array.from({ length: 300 }, (_, i) => Math.round(3000 * Math.sin(i)))],
  ])('%s is no gain', async (_, plane) => {
    expect(['none', 'cannot tell']).toContain((await verdictOf(plane)).answer);
  });
});

describe('names of gains', () => {
  it.each([
    [0.7, 1e-6, '7/10', null],
    [1.5, 1e-6, '3/2', null],
    [10 ** (-1.5 / 20), 1e-6, null, 0.5],
    [10 ** (2.3 / 20), 1e-6, null, 0.1],
    [0.723_456_7, 1e-7, null, null],
  ])('%f +- %f', (gain, uncertainty, ratio, roundDb) => {
    expect(nameGain(gain, uncertainty)).toMatchObject({ ratio, roundDb });
  });
});

// The code book on real recordings through each law of the tape formats: the right answer or "cannot tell", never a wrong one.
import { describe, expect, it } from 'vitest';
import { memorySource, rate, type SegmentLaw } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { roundTrip } from '../../signal/index.ts';
import { eightMm, nonlinear12, withMidStep } from '../../tape/index.ts';
import { examineSource } from '../pass.ts';
import { codeBook } from './code-book.ts';

async function answerOf(plane: Int32Array, bits = 16) {
  const source = memorySource([plane], { name: 'test', rate: rate(44_100), bits });
  return (await examineSource(source, [codeBook])).verdicts[0];
}

const through = (law: SegmentLaw, shift: number) => (plane: Int32Array) => plane.map((x) => roundTrip(law, x, shift));

/** What was done to the recording, and what the detector must say when it can tell. */
const CASES: readonly (readonly [string, string, (plane: Int32Array) => Int32Array, number])[] = [
  ['16 bits as they are', 'linear', (plane) => plane, 16],
  ['14 bits', 'linear', (plane) => plane.map((x) => x & ~3), 16],
  ['12 bits', 'linear', (plane) => plane.map((x) => x & ~15), 16],
  ['a gain of 0.7', 'linear', (plane) => plane.map((x) => Math.round(x * 0.7)), 16],
  ['the 12-bit law', 'nonlinear-12', through(nonlinear12, 0), 16],
  ['the 12-bit law, half a step added', 'nonlinear-12-mid-step', through(withMidStep(nonlinear12), 0), 16],
  ['the 12-bit law in a 24-bit container', 'nonlinear-12', (p) => through(nonlinear12, 0)(p).map((x) => x * 256), 24],
  ['the 8 mm law, default break points', 'eight-mm-16-64-320', through(eightMm(), 6), 16],
  ['the 8 mm law, rival break points', 'eight-mm-32-64-256', through(eightMm({ breaks: [32, 64, 256] }), 6), 16],
];

describe.each(['guitar', 'tabla', 'fox', 'choir'])('%s', (name) => {
  it.for(CASES)('%s', async ([, expected, alter, bits], context) => {
    const { planes } = await loadMusic(await needMusic(context, name));
    for (const seconds of [0.5, 1, 10]) {
      const plane = alter(planes[0].slice(0, seconds * 44_100));
      const { answer, confidence } = await answerOf(plane, bits);
      expect([expected, 'cannot tell'], `${seconds} s`).toContain(answer);
      if (answer === expected) expect(confidence).toBeGreaterThan(0.999);
    }
  });
});

describe('what nobody can tell', () => {
  it.each([
    ['silence', new Int32Array(10_000)],
    [
      'sound below the first break of any law',
      Int32Array.from({ length: 50_000 }, (_, i) => Math.round(300 * Math.sin(i / 7))),
    ],
    ['a hundred samples', Int32Array.from({ length: 100 }, (_, i) => i * 300 - 15_000)],
  ])('%s', async (_, plane) => {
    expect((await answerOf(plane)).answer).not.toMatch(/nonlinear|eight/);
  });

  it('says the law and its break points only where the sound is decisive: with ten in a hundred samples concealed', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'guitar'));
    const plane = planes[0].map((x) => roundTrip(nonlinear12, x));
    for (let i = 10; i + 1 < plane.length; i += 10) plane[i] = (plane[i - 1] + plane[i + 1]) >> 1;
    const verdict = await answerOf(plane);
    expect(verdict.answer).toBe('nonlinear-12');
    expect(verdict.evidence.outsideBook).toBeGreaterThan(100);
  });
});

describe('a recording that changes on the way', () => {
  it.for([
    ['the 12-bit law', nonlinear12, 0],
    ['the 8 mm law', eightMm(), 6],
  ] as const)(
    '%s in one half is said, not called linear, and not called a law of the whole',
    async ([, law, shift], context) => {
      const plane = (await loadMusic(await needMusic(context, 'tabla'))).planes[0].slice(0, 441_000);
      const companded = through(law, shift)(plane);
      const half = plane.length / 2;
      for (const changed of [
        plane.map((x, i) => (i < half ? x : companded[i])),
        plane.map((x, i) => (i < half ? companded[i] : x)),
      ]) {
        const { answer, detectionLimit } = await answerOf(changed);
        expect(answer).toBe('cannot tell');
        expect(detectionLimit).toMatch(/the recording changes/);
      }
    },
  );

  it('silence before a companded recording does not hide it', async (context) => {
    const plane = (await loadMusic(await needMusic(context, 'tabla'))).planes[0].slice(0, 220_500);
    const companded = through(eightMm(), 6)(plane);
    const late = Int32Array.from({ length: 2 * plane.length }, (_, i) => companded[i - plane.length] ?? 0);
    expect((await answerOf(late)).answer).toBe('eight-mm-16-64-320');
  });

  it('break points that a single step more or less would decide are not named', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'choir'));
    const quiet = through(eightMm({ breaks: [24, 80, 256] }), 6)(planes[0].map((x) => Math.round(x / 10)));
    const { answer, evidence } = await answerOf(quiet);
    expect(answer).toBe('cannot tell');
    expect(evidence.isCompanded).toBe(true);
    expect(evidence.remainingLaws).toContain('eight-mm-24-80-256');
  });
});

describe('samples outside the book', () => {
  it.for([
    ['the 12-bit law', nonlinear12, 0],
    ['the 8 mm law', eightMm(), 6],
  ] as const)(
    '%s: single interpolated samples are found one by one, and none that is not there',
    async ([, law, shift], context) => {
      const { planes } = await loadMusic(await needMusic(context, 'guitar'));
      const clean = through(law, shift)(planes[0]);
      const damaged = clean.slice();
      const replaced: number[] = [];
      for (let i = 1000; i + 1 < damaged.length; i += 2000) {
        damaged[i] = (damaged[i - 1] + damaged[i + 1]) >> 1;
        replaced.push(i);
      }
      const examine = (plane: Int32Array) =>
        examineSource(memorySource([plane], { name: 'test', rate: rate(44_100), bits: 16 }), [codeBook]);
      expect((await examine(clean)).findings).toEqual([]);
      const { findings } = await examine(damaged);
      const book = new Set(clean);
      // A mean that happens to be in the book, or beyond what this recording used of it, cannot be told: count the others.
      const visible = replaced.filter((i) => !book.has(damaged[i]));
      const found = findings.map(({ start, length, kind }) => [start, length, kind]);
      for (const [start, length, kind] of found) {
        expect([length, kind]).toEqual([1, 'interpolated']);
        expect(replaced).toContain(start);
      }
      expect(found.length).toBeGreaterThan(0.9 * visible.length);
      expect(visible.length).toBeGreaterThan(replaced.length / 4);
    },
  );
});

import { describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { type ProgrammeSpec, synthesiseProgramme } from './programme.ts';
import { dynamicsAt } from './score.ts';

const spec: ProgrammeSpec = { channels: 8, seconds: 12, rate: rate(48_000), bits: 16, seed: 1 };
const sound = synthesiseProgramme(spec);

const peakDb = (plane: Int32Array) =>
  20 * Math.log10(plane.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0) / 32_768);
const rms = (part: Int32Array) => Math.sqrt(part.reduce((sum, x) => sum + x * x, 0) / part.length);

/** Share of samples that equal the mean of their neighbours, rounded down: what an interpolation would not change. */
function invisibleShare(part: Int32Array): number {
  let count = 0;
  for (let n = 1; n < part.length - 1; n++) if (part[n] === (part[n - 1] + part[n + 1]) >> 1) count++;
  return count / (part.length - 2);
}
const section = (plane: Int32Array, from: number, to: number) =>
  plane.subarray(Math.round(from * plane.length), Math.round(to * plane.length));

describe('the invented concert', () => {
  it('peaks between -6 and -1 dBFS on every channel and never clips', () => {
    for (const plane of sound.planes) {
      expect(plane.length).toBe(576_000);
      expect(peakDb(plane)).toBeGreaterThan(-6.1);
      expect(peakDb(plane)).toBeLessThan(-1);
    }
  });

  it('begins with room noise of the stated strength', () => {
    for (const plane of sound.planes) {
      // the first 3 % are a pause; 2.5 steps and rounding (1/12); the speaker's bleed is not there yet. Tolerance 3 %
      expect(rms(section(plane, 0, 0.015)) / Math.sqrt(2.5 ** 2 + 1 / 12)).toBeCloseTo(1, 1);
    }
  });

  it('shows an interpolation in its loud part and hides it in the pause, on every channel', () => {
    for (const plane of sound.planes) {
      const loud = invisibleShare(section(plane, 0.8, 0.92));
      const pause = invisibleShare(section(plane, 0, 0.02));
      expect(loud).toBeLessThan(0.06);
      expect(pause).toBeGreaterThan(0.08);
    }
  });

  it('has a quiet part at least 12 dB below the loud one where an ensemble plays', () => {
    for (const c of [0, 1, 2, 6, 7]) {
      const plane = sound.planes[c];
      const difference = 20 * Math.log10(rms(section(plane, 0.8, 0.92)) / rms(section(plane, 0.55, 0.65)));
      expect(difference).toBeGreaterThan(12);
    }
  });

  it('sounds different on every channel', () => {
    for (let a = 0; a < 8; a++) {
      for (let b = 0; b < a; b++) {
        const [x, y] = [a, b].map((c) => section(sound.planes[c], 0.8, 0.9));
        const product = x.reduce((sum, value, n) => sum + value * y[n], 0) / (x.length * rms(x) * rms(y));
        expect(Math.abs(product)).toBeLessThan(0.35);
      }
    }
  });

  it('is the same for the same seed, another for another, and works for one and two channels, other rates and words', () => {
    const short = { ...spec, channels: 2, seconds: 3 };
    expect(synthesiseProgramme(short)).toEqual(synthesiseProgramme(short));
    expect(synthesiseProgramme(short).planes).not.toEqual(synthesiseProgramme({ ...short, seed: 2 }).planes);
    const fine = synthesiseProgramme({ ...short, channels: 1, bits: 24, rate: rate(4_500_000, 143) });
    expect(fine.planes[0].length).toBe(Math.round((3 * 4_500_000) / 143));
    expect(peakDb(fine.planes[0].map((x) => x >> 8))).toBeGreaterThan(-6.2);
    expect(fine.planes[0].some((x) => (x & 255) !== 0)).toBe(true);
  });
});

it('dynamics: silent at the start, in the general pause and at the end; the curve repeats every minute', () => {
  expect(dynamicsAt(0, 600)).toBe(0);
  expect(dynamicsAt(0.45 * 60, 600)).toBe(0);
  expect(dynamicsAt(0.93 * 60, 600)).toBeGreaterThan(0.9);
  expect(dynamicsAt(25, 600)).toBe(dynamicsAt(85, 600));
  expect(dynamicsAt(0.93 * 30, 30)).toBe(dynamicsAt(0.93 * 60, 60));
});

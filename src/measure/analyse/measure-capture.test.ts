// The whole programme through devices whose gain, delay, clock, filter, clipping, crosstalk and noise are given: every number must lie within the
// uncertainty it states of itself.
import { beforeAll, describe, expect, it } from 'vitest';
import { rate } from '../../base/index.ts';
import { emphasisDb } from '../../signal/index.ts';
import { captureThrough, programmeWaves } from '../testing/captures.ts';
import { fractionalShift } from '../testing/shift.ts';
import { type CaptureMeasurement, type ChannelMeasurement, measureCapture } from './measure-capture.ts';
import type { Measured } from './measured.ts';

const programme = programmeWaves();

function within(one: Measured, truth: number, more = 0): void {
  expect(one.limit).toBeUndefined();
  expect(Math.abs((one.value ?? Number.NaN) - truth)).toBeLessThanOrEqual((one.uncertainty ?? Number.NaN) + more);
}

describe('a device with a gain, a clip, a delay, a swapped polarity and a leak', () => {
  let found: CaptureMeasurement;
  let first: ChannelMeasurement;
  const GAIN_DB = -4.3;
  const CLIP_DB = -2.6;
  const LEAK_DB = -52;
  const DELAY = 0.37;
  beforeAll(async () => {
    const clip = 10 ** (CLIP_DB / 20);
    const source = captureThrough(
      {
        captureHz: 44_100,
        ppm: -23,
        lead: 901.25,
        outputNoiseDb: -90,
        outputDb: GAIN_DB,
        change: ([a, b]) => {
          // the clip of a whole device would be band-limited; here it acts at the capture's rate, so the order of things is its own
          for (const plane of [a, b]) plane.set(plane.map((x) => Math.max(-clip, Math.min(clip, x))));
          const late = fractionalShift(b, DELAY);
          const leak = 10 ** (LEAK_DB / 20);
          a.forEach((x, n) => {
            b[n] = -(late[n] + leak * x);
          });
        },
      },
      programme,
    );
    found = await measureCapture(source);
    first = found.channels[0];
  }, 240_000);

  it('gain', () => within(first.levels.gainDb, GAIN_DB));
  it('clipping point and recommended level', () => {
    within(first.levels.clippingDb, CLIP_DB);
    within(first.levels.recommendedPeakDb, CLIP_DB - 3);
  });
  it('clock', () => {
    within(found.clock.errorPpm, -23);
    within(found.clock.trueRateHz, 44_100 * (1 - 23e-6));
    within(found.clock.middleOffsetFrames, 0);
  });
  it('delay and polarity between the channels', () => {
    within(found.delays[0].delayFrames, DELAY);
    expect(found.delays[0].isInverted).toBe(true);
    expect(found.channels.map((one) => one.impulses.polarity)).toEqual(['positive', 'negative']);
  });
  it('which channel is which, and the leak', () => {
    expect(found.channels.map((one) => one.separation.programmeChannel)).toEqual([1, 2]);
    for (const { levelDb } of found.channels[1].separation.crosstalk) within(levelDb, LEAK_DB);
    for (const { levelDb } of first.separation.crosstalk) expect(levelDb.limit).toBe('at-most');
  });
  it('idle noise', () => {
    // noise of the test is rms against full scale; dBFS is against a full-scale sine, 3.01 dB less
    const inBand = -90 + 10 * Math.log10(19_980 / 22_050) + 3.01;
    within(first.idle.noiseDb, inBand, 0.005);
  });
  it('linearity down to where noise allows, each step within its own uncertainty', () => {
    const misses = first.levels.linearity.filter(
      ({ sentDb, deviationDb }) =>
        sentDb < CLIP_DB - 0.5 && Math.abs(deviationDb.value ?? 0) > (deviationDb.uncertainty ?? 0),
    );
    // 99.7 per cent each: one of forty may miss once in ten runs, two do not
    expect(misses.length).toBeLessThanOrEqual(1);
  });
});

describe('filters', () => {
  it('a first-order low-pass and a pre-emphasis measure as their formulas', async () => {
    const POLE = 0.6;
    const source = captureThrough(
      {
        outputNoiseDb: -95,
        change: ([a, b], hz) => {
          lowPass(a, POLE);
          emphasise(b, hz);
        },
        outputDb: -12,
      },
      programme,
    );
    const { channels } = await measureCapture(source);
    const truthOf = (hz: number) => {
      const w = (2 * Math.PI * hz) / 48_000;
      return 20 * Math.log10((1 - POLE) / Math.hypot(1 - POLE * Math.cos(w), POLE * Math.sin(w)));
    };
    const misses = channels[0].response.points.filter(
      ({ hz, gainDb }) =>
        Math.abs((gainDb.value ?? 9) - (truthOf(hz) - truthOf(997))) > (gainDb.uncertainty ?? 0) + 0.01,
    );
    expect(misses).toEqual([]);
    expect(channels[1].response.emphasis).toBe('boosted');
    expect(channels[0].response.emphasis).not.toBe('boosted');
  }, 240_000);

  it('the emphasis curve is the printed one (docs/sources.md, IEC 60908)', () => {
    for (const [hz, db] of [
      [1000, 0.37],
      [3183, 2.636],
      [10_000, 7.602],
      [15_000, 8.887],
      [20_000, 9.489],
    ])
      expect(emphasisDb(hz)).toBeCloseTo(db, 2);
  });
});

function lowPass(plane: Float64Array, pole: number): void {
  let y = 0;
  for (let n = 0; n < plane.length; n++) plane[n] = y = (1 - pole) * plane[n] + pole * y;
}

/** (1 + 50 us s) / (1 + 15 us s), bilinear: bent near half the rate, which the judgement does not look at. */
function emphasise(plane: Float64Array, hz: number): void {
  const k = 2 * hz;
  const [b0, b1] = [1 + 50e-6 * k, 1 - 50e-6 * k];
  const [a0, a1] = [1 + 15e-6 * k, 1 - 15e-6 * k];
  let [x1, y1] = [0, 0];
  for (let n = 0; n < plane.length; n++) {
    const x = plane[n];
    y1 = (b0 * x + b1 * x1 - a1 * y1) / a0;
    x1 = x;
    plane[n] = y1;
  }
}

it('a capture that clips, under a wrong label, is measured with doubts', async () => {
  const mono = { hz: programme.hz, planes: [programme.planes[0]] };
  const found = await measureCapture(captureThrough({ outputDb: 6, label: rate(47_000) }, mono));
  expect(found.doubts.join('\n')).toMatch(/its label, or a clock, is wrong/);
  expect(found.doubts.join('\n')).toMatch(/the capture itself clips/);
  within(found.clock.trueRateHz, 48_000);
  within(found.channels[0].levels.gainDb, 6);
}, 240_000);

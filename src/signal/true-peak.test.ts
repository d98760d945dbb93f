// True peak against closed forms, the signals of EBU Tech 3341 (made here, with the fades they need; tolerance +0.2/-0.4 dB),
// a plain search of every place, and two independent meters on real recordings (0.2 dB).
import { describe, expect, it, test } from 'vitest';
import { type Rate, rate } from '../base/index.ts';
import { type LoadedMusic, loadMusic, needMusic } from '../media/testing/music.ts';
import { Random } from './random.ts';
import { ffmpegLoudness, type Judgement, libebur128Loudness } from './testing/loudness-judges.ts';
import { FULL, fadedTone } from './testing/loudness-signals.ts';
import { TruePeakMeter } from './true-peak.ts';
import { TRUE_PEAK_PASSBAND, TRUE_PEAK_REACH, TRUE_PEAK_TAPS, truePeakFilter } from './true-peak-filter.ts';

const RATE = rate(48_000);

function read(plane: Int32Array, at: Rate = RATE, size = plane.length) {
  const meter = new TruePeakMeter(at);
  for (let from = 0; from < plane.length; from += size) {
    meter.push(plane.subarray(from, from + size), Math.min(size, plane.length - from));
  }
  return meter.finish();
}

const decibels = (peak: number, full = FULL) => 20 * Math.log10(peak / full);

describe('EBU Tech 3341', () => {
  it.each([
    ['15', 1 / 4, 0, 0.5, -6],
    ['16', 1 / 4, 45, 0.5, -6],
    ['17', 1 / 6, 60, 0.5, -6],
    ['18', 1 / 8, 67.5, 0.5, -6],
    ['19', 1 / 4, 45, 1.41, 3],
  ])('case %s', (_case, cyclesPerFrame, phase, amplitude, expected) => {
    const reading = decibels(read(fadedTone(cyclesPerFrame, phase, amplitude, 48_000)).peak);
    expect(reading).toBeLessThanOrEqual(expected + 0.2);
    expect(reading).toBeGreaterThanOrEqual(expected - 0.4);
  });

  it.each([0, 1, 2, 3])('cases 20 to 23: one loud period at fs/4 in a tone of fs/6, offset %i of 4', (offset) => {
    // shape by certainty M: made at 4 times the rate, smoothed below half the rate, every fourth sample kept
    const reading = decibels(read(loudPeriod(offset)).peak);
    expect(reading).toBeLessThanOrEqual(0.2);
    expect(reading).toBeGreaterThanOrEqual(-0.4);
  });
});

describe('the filter', () => {
  it.each([4, 8])('%i times: passes tones up to the passband within 0.03 dB, straight lines exactly', (factor) => {
    const { rows } = truePeakFilter(factor);
    for (let p = 1; p < factor; p++) {
      const row = rows.subarray((p - 1) * TRUE_PEAK_TAPS, p * TRUE_PEAK_TAPS);
      const place = (k: number) => k - (TRUE_PEAK_REACH - 1) - p / factor;
      const response = (cycles: number) => {
        let real = 0;
        let imaginary = 0;
        for (const [k, tap] of row.entries()) {
          real += tap * Math.cos(2 * Math.PI * cycles * place(k));
          imaginary += tap * Math.sin(2 * Math.PI * cycles * place(k));
        }
        return { real, imaginary };
      };
      for (let cycles = 0; cycles <= TRUE_PEAK_PASSBAND; cycles += 0.01) {
        const { real, imaginary } = response(cycles);
        expect(Math.abs(20 * Math.log10(Math.hypot(real, imaginary))), `${cycles}`).toBeLessThan(0.03);
        expect(Math.abs(imaginary)).toBeLessThan(0.004);
      }
      expect(row.reduce((sum, tap) => sum + tap, 0)).toBeCloseTo(1, 12);
      expect(row.reduce((sum, tap, k) => sum + tap * place(k), 0)).toBeCloseTo(0, 12);
    }
  });
});

describe('what is skipped cannot hold the peak', () => {
  const frames = 20_000;
  const random = new Random(5);
  const signals: [string, (i: number) => number][] = [
    ['noise', () => random.uniform() * 2 - 1],
    ['rare clicks', () => (random.uniform() < 0.001 ? random.uniform() * 2 - 1 : 0)],
    ['a slow wave with noise on it', (i) => 0.8 * Math.sin(i / 70) + 0.2 * (random.uniform() - 0.5)],
    ['bursts of half the rate', (i) => (i % 3000 < 40 ? (i % 2) - 0.5 : 0.4 * Math.sin(i / 9))],
    ['rising tones', (i) => 0.9 * Math.sin((i * i) / 20_000) * (0.5 + i / frames / 2)],
    ['a square wave', (i) => (i % 100 < 50 ? 0.9 : -0.9)],
    ['quiet rounding', (i) => Math.round(2 * Math.sin(i / 3)) / FULL],
  ];
  it.each(signals)('%s: equal to a search of every place', (_name, wave) => {
    const plane = Int32Array.from({ length: frames }, (_, i) => Math.round((FULL - 1) * wave(i)));
    for (const [hz, factor] of [
      [48_000, 8],
      [96_000, 4],
    ]) {
      const { peak, oversampling } = read(plane, rate(hz));
      expect(oversampling).toBe(factor);
      // the same products in another order: rounding alone
      expect(peak / searchEverywhere(plane, factor)).toBeCloseTo(1, 12);
    }
  });

  it('samples of 32 bits: equal to a search of every place', () => {
    const half = 2 ** 31;
    const noise = Int32Array.from({ length: 3000 }, () => Math.floor((random.uniform() * 2 - 1) * half));
    const corners = Int32Array.from({ length: 3000 }, (_, i) => (i % 7 < 3 ? -half : half - 1));
    for (const plane of [noise, corners]) {
      const { peak, samplePeak } = read(plane);
      expect(peak / searchEverywhere(plane, 8)).toBeCloseTo(1, 12);
      expect(samplePeak).toBe(plane.reduce((most, x) => Math.max(most, Math.abs(x)), 0));
    }
  });

  it.each(signals)('%s: the same however the samples are cut', (_name, wave) => {
    const plane = Int32Array.from({ length: frames }, (_, i) => Math.round((FULL - 1) * wave(i)));
    const whole = read(plane);
    for (const size of [1, 31, 8192, 8200]) expect(read(plane, RATE, size)).toEqual(whole);
  });
});

describe('edges', () => {
  it('silence and nothing', () => {
    const nothing = { peak: 0, frame: null, samplePeak: 0, oversampling: 8 };
    expect(read(new Int32Array(1000))).toEqual(nothing);
    expect(read(new Int32Array(0))).toEqual(nothing);
  });

  it('one sample', () => {
    expect(read(Int32Array.of(-5))).toEqual({ peak: 5, frame: 0, samplePeak: 5, oversampling: 8 });
  });

  it('a wave that swings up before the first and after the last sample', () => {
    const plane = Int32Array.from({ length: 40 }, (_, i) => (i % 2 ? 1000 : -1000));
    const { peak, frame } = read(plane);
    expect(peak).toBeCloseTo(searchEverywhere(plane, 8), 6);
    expect(peak).toBeGreaterThan(1200);
    expect([0, 39]).toContain(frame);
  });

  it('names the frame of the peak', () => {
    const plane = new Int32Array(30_000);
    plane[17_123] = 1000;
    plane[17_124] = 1000;
    expect(read(plane)).toMatchObject({ frame: 17_123, samplePeak: 1000 });
    expect(read(plane).peak).toBeGreaterThan(1200);
  });
});

describe('real recordings against two independent meters', () => {
  for (const name of ['guitar', 'tabla', 'announcement-front', 'fox', 'viola', 'drums']) {
    test(`${name}, ffmpeg`, async (context) => {
      const music = await loadMusic(await needMusic(context, name));
      // measured 0.04 dB; libebur128 reads with fewer taps and differs by 0.1 dB in drums
      agree(music, await ffmpegLoudness(context, music), 0.1);
    });
    test(`${name}, libebur128`, async (context) => {
      const music = await loadMusic(await needMusic(context, name));
      agree(music, await libebur128Loudness(context, music), 0.2);
    });
  }

  function agree({ planes, bits, rateHz }: LoadedMusic, { truePeaks }: Judgement, tolerance: number): void {
    expect(truePeaks).toHaveLength(planes.length);
    for (const [c, plane] of planes.entries()) {
      const reading = decibels(read(plane, rate(rateHz)).peak, 2 ** (bits - 1));
      expect(Math.abs(reading - truePeaks[c]), `${reading} for ${truePeaks[c]}`).toBeLessThanOrEqual(tolerance);
    }
  }
});

/** Every place from before the first sample to after the last, one by one, nothing skipped. */
function searchEverywhere(plane: Int32Array, factor: number): number {
  const { rows } = truePeakFilter(factor);
  let highest = 0;
  for (let i = -TRUE_PEAK_REACH; i < plane.length + TRUE_PEAK_REACH; i++) {
    highest = Math.max(highest, Math.abs(plane[i] ?? 0));
    for (let row = 0; row < rows.length; row += TRUE_PEAK_TAPS) {
      let sum = 0;
      for (let k = 0; k < TRUE_PEAK_TAPS; k++) sum += rows[row + k] * (plane[i - (TRUE_PEAK_REACH - 1) + k] ?? 0);
      highest = Math.max(highest, Math.abs(sum));
    }
  }
  return highest;
}

function loudPeriod(offset: number): Int32Array {
  const fine = 4;
  const middle = 24 * 4000;
  const quiet = fadedTone(1 / 6 / fine, 0, 0.5, 2 * middle);
  for (let i = 0; i < 4 * fine; i++) quiet[middle + i] = Math.round(FULL * Math.sin((2 * Math.PI * i) / (4 * fine)));
  const smooth = (at: number) => {
    let sum = 0;
    let weight = 0;
    for (let k = -64; k <= 64; k++) {
      const t = k / fine;
      const tap = (k === 0 ? 1 : Math.sin(Math.PI * t) / (Math.PI * t)) * (0.5 + 0.5 * Math.cos((Math.PI * k) / 65));
      sum += tap * (quiet[at + k] ?? 0);
      weight += tap;
    }
    return Math.round(sum / weight);
  };
  return Int32Array.from({ length: (2 * middle) / fine }, (_, i) => smooth(i * fine + offset));
}

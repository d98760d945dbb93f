// Captures without equal samples: scaled, inverted, shortened, resampled, drifting, through an analogue path, strangers.
// Truth: copies made by the test with a known law; resampling also by sox.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { needTool, type Skipping } from '../media/testing/tools.ts';
import { Random, resampleReal } from '../signal/index.ts';
import { align } from './align.ts';
import type { Alignment } from './placement.ts';
import { damagePlanes, musicLike, noiseLike, sourceOf } from './testing/signals.ts';

const music = musicLike(48_000 * 8, 101);
const random = new Random(8);

async function pair(
  copy: Int32Array,
  options: { bits?: number; rateHz?: number; of?: Int32Array; ofBits?: number } = {},
): Promise<Alignment> {
  return align([
    { source: sourceOf('original', [options.of ?? music], options.ofBits ?? 16) },
    { source: sourceOf('copy', [copy], options.bits ?? 16, options.rateHz ?? 48_000) },
  ]);
}

function rounded(values: Float64Array): Int32Array {
  return Int32Array.from(values, (v) => Math.max(-32_768, Math.min(32_767, Math.round(v))));
}

describe('scaled', () => {
  it.each([0.5, -1])('finds a gain of %f and the exact place', async (gain) => {
    const copy = rounded(Float64Array.from(music.subarray(5000), (v) => v * gain));
    const { placements } = await pair(copy);
    expect(placements[1]).toMatchObject({ relation: 'scaled', driftPpm: 0, uncertaintyFrames: 0, group: 0 });
    expect(placements[1].segments).toEqual([{ start: 0, length: copy.length, offset: 5000 }]);
    expect(placements[1].gain).toBeCloseTo(gain, 5);
  });

  it('finds a gain through concealment', async () => {
    const [copy] = damagePlanes([music.map((v) => Math.round(v * 0.7))], 0.1, 4);
    const { placements } = await pair(copy);
    expect(placements[1].relation).toBe('scaled');
    expect(placements[1].gain).toBeCloseTo(0.7, 4);
    expect(placements[1].differingFrames).toBeGreaterThan(0);
  });

  it('does not take quiet equal stretches for a bit-equal copy', async () => {
    const hushed = music.map((v, n) => (Math.floor(n / 24_000) % 3 ? Math.round(v / 64) : v));
    const { placements } = await pair(
      hushed.map((v) => Math.round(v * 0.999)),
      { of: hushed },
    );
    expect(placements[1].relation).toBe('scaled');
    expect(placements[1].gain).toBeCloseTo(0.999, 4);
  });

  it.each([
    ['cut', (v: number) => Math.floor(v / 256)],
    ['rounded', (v: number) => Math.round(v / 256)],
    ['dithered', (v: number) => Math.round(v / 256 + random.triangular())],
  ])('calls a shortened word (%s) scaled by 1, not bit-equal', async (_how, shorten) => {
    const long = musicLike(48_000 * 6, 102, 24);
    const { placements } = await pair(long.map(shorten).subarray(100), { of: long, ofBits: 24 });
    expect(placements[1]).toMatchObject({ relation: 'scaled', segments: [{ offset: 100 }] });
    expect(placements[1].gain).toBeCloseTo(1, 4);
    expect(placements[1].reason).toMatch(/shortened/);
  });
});

describe('another clock', () => {
  it.each([37, -1000])('finds a drift of %f ppm within the stated uncertainty', async (ppm) => {
    // copy frame n is the original at 700.3 + n (1 + ppm)
    const start = 700.3;
    const copy = rounded(resampleReal(Float64Array.from(music), start, 1 + ppm * 1e-6, music.length - 1200));
    const [, placement] = (await pair(copy)).placements;
    expect(placement.relation).toBe('resampled');
    expect(placement.uncertaintyFrames).toBeLessThan(0.5);
    // the stated uncertainty is two standard deviations of the place at the worse end
    const errorAtEnd = Math.abs((placement.driftPpm ?? 0) - ppm) * 1e-6 * copy.length;
    expect(errorAtEnd).toBeLessThanOrEqual(placement.uncertaintyFrames ?? 0);
    expect(placement.segments).toEqual([{ start: 0, length: copy.length, offset: 700 }]);
  });

  it('knows a copy resampled by sox to 47 990 Hz and back', async (context) => {
    const there = soxed(context, music, ['-r', '47990'], ['-r', '48000']);
    const [, placement] = (await pair(there)).placements;
    expect(placement.relation).toBe('resampled');
    expect(Math.abs(placement.driftPpm ?? 9)).toBeLessThan(0.5);
    expect(placement.segments[0].offset).toBeCloseTo(0, 9);
  });

  it('places a copy of another sampling rate', async (context) => {
    const copy = soxed(context, music, ['-r', '44100'], []);
    const [, placement] = (await pair(copy, { rateHz: 44_100 })).placements;
    expect(placement.relation).toBe('resampled');
    expect(placement.driftPpm).toBeCloseTo((48_000 / 44_100 - 1) * 1e6, 0);
  });

  it('places half an hour by its loudness', async () => {
    // one minute of envelope-rich signal repeated would be ambiguous; noise with a wandering level is not
    const frames = 8000 * 420;
    const long = noiseLike(frames, 55, 16, 0.08);
    for (let n = 0, level = 1; n < frames; n++) {
      if (n % 900 === 0) level = 0.1 + random.uniform();
      long[n] = Math.round(long[n] * level);
    }
    const copy = rounded(resampleReal(Float64Array.from(long), 40_000.5, 1 + 20e-6, frames - 80_000, { halfTaps: 16 }));
    const inputs = [long, copy].map((plane, n) => ({ source: sourceOf(`long ${n}`, [plane], 16, 8000) }));
    const [, placement] = (await align(inputs)).placements;
    expect(placement.driftPpm).toBeCloseTo(20, 1);
    expect(Math.abs(placement.segments[0].offset - 40_000.5)).toBeLessThan(1);
    expect(['resampled', 'via-analogue']).toContain(placement.relation);
  });
});

describe('through an analogue path', () => {
  it('never calls gain 0.999 with noise of one step bit-equal or scaled', async () => {
    for (let seed = 1; seed <= 2; seed++) {
      const noise = new Random(seed);
      const copy = rounded(Float64Array.from(music.subarray(333), (v) => 0.999 * v + noise.integer(3) - 1));
      const [, placement] = (await pair(copy)).placements;
      expect(placement).toMatchObject({ relation: 'via-analogue', group: 0 });
      expect(placement.gain).toBeCloseTo(0.999, 3);
      expect(placement.segments[0].offset).toBe(333);
      expect(placement.comparedFrames).toBe(0);
    }
  });

  it('finds it with drift, a constant and noise of 40 dB below', async () => {
    const turned = resampleReal(Float64Array.from(music), 50.25, 1 - 15e-6, music.length - 100);
    const copy = rounded(turned.map((v) => -0.8 * v + 25 + 20 * random.gaussian()));
    const [, placement] = (await pair(copy)).placements;
    expect(placement.relation).toBe('via-analogue');
    expect(placement.driftPpm).toBeCloseTo(-15, 0);
    expect(placement.gain).toBeCloseTo(-0.8, 1);
  });
});

describe('strangers', () => {
  it.each([1, 2, 3])('joins nothing between different recordings (%i)', async (seed) => {
    const [, placement] = (await pair(musicLike(48_000 * 8, 200 + seed), { of: musicLike(48_000 * 8, 300 + seed) }))
      .placements;
    expect(placement).toMatchObject({
      relation: 'unrelated',
      segments: [],
      driftPpm: null,
      uncertaintyFrames: null,
      group: 1,
    });
    expect(placement.reason).toMatch(/What would help/);
  });
});

/** 16-bit mono at 48 kHz through sox, in one or two steps. */
function soxed(context: Skipping, plane: Int32Array, ...steps: readonly (readonly string[])[]): Int32Array {
  const sox = needTool(context, 'sox');
  const folder = mkdtempSync(join(tmpdir(), 'tapeproof-align-'));
  try {
    const raw = (n: number) => join(folder, `${n}.wav`);
    writeFileSync(join(folder, 'in.raw'), Int16Array.from(plane));
    const format = ['-t', 'raw', '-r', '48000', '-e', 'signed', '-b', '16', '-c', '1'];
    execFileSync(sox, ['-R', ...format, join(folder, 'in.raw'), raw(0)]);
    const used = steps.filter((s) => s.length > 0);
    for (const [n, step] of used.entries()) execFileSync(sox, ['-R', raw(n), ...step, raw(n + 1)], { stdio: 'pipe' });
    execFileSync(sox, [raw(used.length), '-t', 'raw', join(folder, 'out.raw')]);
    const bytes = readFileSync(join(folder, 'out.raw'));
    return Int32Array.from({ length: bytes.length >> 1 }, (_, n) => bytes.readInt16LE(2 * n));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

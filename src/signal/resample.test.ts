import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { needTool } from '../media/testing/tools.ts';
import { Random } from './random.ts';
import { fractionalDelay, resample, resampleReal } from './resample.ts';

const EDGE = 300; // frames in which the zero outside is felt, whatever the ratio here

const sine = (frames: number, cyclesPerFrame: number, phase = 0) =>
  Float64Array.from({ length: frames }, (_, n) => Math.sin(2 * Math.PI * cyclesPerFrame * n + phase));

/** Noise below `band` of the Nyquist frequency: the sum of many sines. */
function bandNoise(frames: number, band: number, seed: number): Float64Array {
  const random = new Random(seed);
  const out = new Float64Array(frames);
  for (let k = 0; k < 40; k++) {
    const part = sine(frames, (random.uniform() * band) / 2, random.uniform() * 6.28);
    for (let n = 0; n < frames; n++) out[n] += part[n] / 40;
  }
  return out;
}

/** Largest difference away from the edges, dB against full scale. */
function worstDb(a: Float64Array, b: Float64Array): number {
  const frames = Math.min(a.length, b.length);
  let worst = 0;
  for (let n = EDGE; n < frames - EDGE; n++) worst = Math.max(worst, Math.abs(a[n] - b[n]));
  return 20 * Math.log10(worst);
}

describe('closed form: a sine stays the same sine', () => {
  // tolerance: pass band ripple of a 120 dB design is 1e-6
  it.each([
    [160, 147],
    [147, 160],
    [572, 375],
    [375, 572],
    [2, 1],
    [1, 3],
    [1001, 1000],
  ])('ratio %i/%i', (num, den) => {
    const lower = Math.min(1, num / den);
    for (const f of [0.01, 0.2 * lower, 0.42 * lower]) {
      const out = resample(sine(6000, f), { num, den });
      expect(out.length).toBe(Math.ceil((6000 * num) / den));
      expect(worstDb(out, sine(out.length, (f * den) / num))).toBeLessThan(-115);
    }
  });

  it('stops what the lower rate cannot carry', () => {
    const out = resample(sine(6000, 0.3), { num: 1, den: 2 });
    expect(worstDb(out, new Float64Array(out.length))).toBeLessThan(-110);
  });

  it('arbitrary ratio and start, and fractional delay', () => {
    for (const step of [1.000_035, 0.999_9, 1.37]) {
      const out = resampleReal(sine(6000, 0.21), 12.25, step, 3500);
      const expected = sine(3500, 0.21 * step, 2 * Math.PI * 0.21 * 12.25);
      expect(worstDb(out, expected)).toBeLessThan(-115);
    }
    const delayed = fractionalDelay(sine(3000, 0.3), 0.5);
    expect(worstDb(delayed, sine(3000, 0.3, -Math.PI * 0.3))).toBeLessThan(-115);
  });

  it('is the identity for 1/1 and the same by table and by fine table', () => {
    const input = bandNoise(3000, 0.8, 1);
    expect(resample(input, { num: 7, den: 7 })).toEqual(input);
    const exact = resample(input, { num: 160, den: 147 });
    expect(worstDb(exact, resampleReal(input, 0, 147 / 160, exact.length))).toBeLessThan(-145);
    // too many phases for a table
    const odd = resample(input, { num: 100_003, den: 100_000 });
    expect(worstDb(odd, resampleReal(input, 0, 100_000 / 100_003, odd.length))).toBeLessThan(-145);
    expect(() => resample(input, { num: 0, den: 1 })).toThrow('not a ratio');
    expect(() => resampleReal(input, 0, -1, 5)).toThrow('not a step');
  });
});

function withFolder<T>(work: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'tapeproof-resample-'));
  try {
    return work(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function floatsOf(path: string): Float64Array {
  const bytes = readFileSync(path);
  return new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
}

describe('independent programs', () => {
  it('agrees with scipy.signal.resample_poly with its own Kaiser design', (context) => {
    needTool(context, '/usr/bin/python3');
    const input = bandNoise(8000, 0.99, 2);
    withFolder((folder) => {
      writeFileSync(join(folder, 'in'), new Uint8Array(input.buffer));
      const script = `
import numpy as np, sys
from scipy.signal import resample_poly, firwin
x=np.fromfile(sys.argv[1]+'/in'); up,down,half=160,147,64
A=120; width=(A-7.95)/(2.285*2*np.pi*2*half)
h=firwin(2*half*up+1,(1-width)/up,window=('kaiser',0.1102*(A-8.7)))
resample_poly(x,up,down,window=h).tofile(sys.argv[1]+'/out')`;
      execFileSync('/usr/bin/python3', ['-c', script, folder]);
      // scipy normalises the filter as a whole to unity at 0 Hz, we do not: 1e-6 at most
      expect(worstDb(resample(input, { num: 160, den: 147 }), floatsOf(join(folder, 'out')))).toBeLessThan(-115);
    });
  });

  it('agrees with sox rate -v in the common pass band', (context) => {
    needTool(context, 'sox');
    const input = bandNoise(20_000, 0.78, 3); // our pass band ends at 0.81 of the input Nyquist here
    withFolder((folder) => {
      const [from, to] = [join(folder, 'in.f64'), join(folder, 'out.f64')];
      writeFileSync(from, new Uint8Array(input.buffer));
      const raw = ['-t', 'raw', '-e', 'float', '-b', '64', '-c', '1'];
      execFileSync('sox', ['-D', ...raw, '-r', '48000', from, ...raw, to, 'rate', '-v', '44100']);
      // sox works in 32-bit integers and stops at -150 dB or so; our own ripple dominates
      expect(worstDb(resample(input, { num: 147, den: 160 }), floatsOf(to))).toBeLessThan(-110);
    });
  });
});

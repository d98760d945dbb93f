// The law against the table of docs/sources.md's standard (values of reference/standards.md 4.3), the filter against the law within 0.02 dB from 20 Hz
// to 20 kHz (trade.md B 11), read by scipy's freqz, and against sox's own filter.
import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { needTool } from '../media/testing/tools.ts';
import { convolveInside } from './convolve.ts';
import { deEmphasisTaps, EMPHASIS_REACH, emphasisDb } from './emphasis.ts';

it.each([
  [100, 0.004],
  [400, 0.062],
  [1000, 0.37],
  [3183, 2.636],
  [5000, 4.529],
  [10_000, 7.602],
  [16_000, 9.043],
  [20_000, 9.489],
  [1e9, 10.458],
])('%i Hz: %f dB', (hz, db) => {
  // Printed with three decimals.
  expect(emphasisDb(hz)).toBeCloseTo(db, 2.99);
});

const RATES = [32_000, 44_055.944, 44_100, 48_000, 96_000];

describe.each(RATES)('the filter at %f Hz', (rateHz) => {
  it('has the magnitude of the law within 0.02 dB from 20 Hz to 20 kHz, read by scipy', (context) => {
    const python = needTool(context, '/usr/bin/python3');
    const hz = Array.from({ length: 400 }, (_, i) => 20 * 1000 ** (i / 399)).filter((one) => one < 0.49 * rateHz);
    const program =
      'import sys,json,numpy as np\nfrom scipy.signal import freqz\nd=json.load(sys.stdin)\n' +
      'w,h=freqz(d["taps"],worN=np.array(d["hz"]),fs=d["rate"])\nprint(json.dumps((20*np.log10(abs(h))).tolist()))';
    const input = JSON.stringify({ taps: Array.from(deEmphasisTaps(rateHz)), hz, rate: rateHz });
    const levels = JSON.parse(execFileSync(python, ['-c', program], { input, encoding: 'utf8' })) as number[];
    const worst = Math.max(...levels.map((db, i) => Math.abs(db + emphasisDb(hz[i]))));
    expect(worst).toBeLessThan(0.02);
  });

  it('has the phase of the circuits up to 0.9 of half the rate, within a tenth of a degree', () => {
    const taps = deEmphasisTaps(rateHz);
    for (const hz of [100, 1000, 3000, 8000, 13_000, 19_000].filter((one) => one < 0.44 * rateHz)) {
      const w = 2 * Math.PI * hz;
      const wanted = Math.atan(w * 15e-6) - Math.atan(w * 50e-6);
      expect(Math.abs(responseAt(taps, hz / rateHz).phase - wanted)).toBeLessThan(0.1 * (Math.PI / 180));
    }
  });
});

it.for([44_100, 48_000])('agrees with the filter of sox at %i Hz within its own 0.06 dB', (rateHz, context) => {
  const sox = needTool(context, 'sox');
  const impulse = Buffer.alloc(4096 * 8);
  impulse.writeDoubleLE(0.5, 0);
  const raw = ['-t', 'raw', '-e', 'floating-point', '-b', '64', '-L', '-c', '1', '-r', `${rateHz}`, '-'];
  const out = execFileSync(sox, [...raw, ...raw, 'deemph'], { input: impulse });
  const theirs = Float64Array.from({ length: 1024 }, (_, i) => 2 * out.readDoubleLE(8 * i));
  const ours = deEmphasisTaps(rateHz);
  for (const hz of [100, 1000, 3000, 5000, 10_000, 15_000, 20_000]) {
    // 0.06 dB is what sox's filter is off the law (reference/standards.md 4.3).
    expect(Math.abs(responseAt(ours, hz / rateHz).db - responseAt(theirs, hz / rateHz).db)).toBeLessThan(0.07);
  }
});

/** Phase against the middle tap. */
function responseAt(taps: Float64Array, turns: number): { db: number; phase: number } {
  let [re, im] = [0, 0];
  for (const [n, tap] of taps.entries()) {
    re += tap * Math.cos(2 * Math.PI * turns * (n - EMPHASIS_REACH));
    im -= tap * Math.sin(2 * Math.PI * turns * (n - EMPHASIS_REACH));
  }
  return { db: 10 * Math.log10(re * re + im * im), phase: Math.atan2(im, re) };
}

it('convolves inside: each output from its own surroundings', () => {
  const x = Float64Array.from({ length: 600 }, (_, i) => Math.sin(i * i));
  const taps = deEmphasisTaps(48_000);
  const out = convolveInside(x, taps);
  expect(out).toHaveLength(600 - taps.length + 1);
  const at = 100;
  const direct = taps.reduce((sum, tap, k) => sum + tap * x[at + taps.length - 1 - k], 0);
  expect(out[at]).toBeCloseTo(direct, 12);
});

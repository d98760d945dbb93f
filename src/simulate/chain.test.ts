import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import { type ChainStep, runChain } from './chain.ts';

const FRAMES = 30_000;

function noise(seed: number, bits = 16): Int32Array {
  const random = new Random(seed);
  return Int32Array.from({ length: FRAMES }, () => random.integer(2 ** bits) - 2 ** (bits - 1));
}
const planes = [noise(1), noise(2)];
const run = (steps: readonly ChainStep[], seed = 5, input = planes, bits = 16) =>
  runChain(input, bits, steps, new Random(seed));

/** Every output frame that a segment places equals the input frame it names. */
function expectPlaced(out: ReturnType<typeof run>, input = planes) {
  for (const { start, length, offset } of out.truth.segments) {
    for (const [c, plane] of out.planes.entries()) {
      const from = out.truth.channelOrder[c] - 1;
      expect(plane.subarray(start, start + length)).toEqual(
        input[from].subarray(start + offset, start + offset + length),
      );
    }
  }
}

describe('positions', () => {
  it('nothing to do is a copy', () => {
    const out = run([]);
    expect(out.planes).toEqual(planes);
    expect(out.planes[0]).not.toBe(planes[0]);
    expect(out.truth).toMatchObject({ relation: 'bit-equal', slips: [], gain: 1, driftPpm: 0, channelOrder: [1, 2] });
  });

  it('a dropped sample really is dropped, a repeated one is there twice', () => {
    const out = run([
      { kind: 'drop', at: 1000, frames: 3 },
      { kind: 'repeat', at: 2000, frames: 2 },
    ]);
    expect(out.planes[0].length).toBe(FRAMES - 1);
    expect(out.planes[0][999]).toBe(planes[0][999]);
    expect(out.planes[0][1000]).toBe(planes[0][1003]);
    expect([...out.planes[1].subarray(2000, 2002)]).toEqual([...out.planes[1].subarray(1998, 2000)]);
    expect(out.truth.slips).toEqual([
      { at: 1000, lostFrames: 3, cause: 'dropped samples' },
      { at: 2000, lostFrames: -2, cause: 'repeated samples' },
    ]);
    expect(out.truth.segments.map((s) => s.offset)).toEqual([0, 3, 1]);
    expect(out.truth.relation).toBe('bit-equal');
    expectPlaced(out);
  });

  it('keeps the truth when a later step moves or swallows an earlier slip', () => {
    const out = run([
      { kind: 'drop', at: 5000, frames: 2 },
      { kind: 'drop', at: 1000, frames: 10 },
      { kind: 'repeat', at: 5000, frames: 20 },
      { kind: 'drop', at: 7000, frames: 100 },
    ]);
    expectPlaced(out);
    const lost = out.truth.slips.reduce((sum, slip) => sum + slip.lostFrames, 0);
    expect(out.planes[0].length).toBe(FRAMES - lost);
  });

  it.each([35, -35, 400, -400])('an unlocked recorder at %i ppm', (ppm) => {
    const out = run([{ kind: 'unlocked', ppm }]);
    const count = Math.ceil((FRAMES * Math.abs(ppm)) / 1e6) - 1; // a slip at the very end is none
    expect(out.truth.slips).toHaveLength(count);
    expect(out.truth.slips.every((slip) => slip.lostFrames === (ppm > 0 ? -1 : 1))).toBe(true);
    expect(out.planes[0].length).toBe(FRAMES + Math.sign(ppm) * count);
    expectPlaced(out);
  });
});

describe('values', () => {
  it('gain rounds in the stated way and clips', () => {
    const input = [Int32Array.of(-3, 3, 32767, -32768, 5)];
    const out = run([{ kind: 'gain', num: 3, den: 2, rounding: 'floor' }], 1, input);
    expect([...out.planes[0]]).toEqual([-5, 4, 32767, -32768, 7]);
    expect(out.truth).toMatchObject({ relation: 'scaled', gain: 1.5 });
    expect(run([{ kind: 'gain', num: 2, den: 2 }]).truth.relation).toBe('bit-equal');
  });

  it('truncation zeroes the low bits; into a wider container it is lossless', () => {
    const cut = run([{ kind: 'truncate', bits: 12 }]);
    expect(cut.planes[0].every((x, i) => x === (planes[0][i] >> 4) << 4)).toBe(true);
    expect(cut.truth.relation).toBe('scaled');
    const wide = run([
      { kind: 'widen', bits: 24 },
      { kind: 'truncate', bits: 16 },
    ]);
    expect(wide.bits).toBe(24);
    expect(wide.planes[0].every((x, i) => x === planes[0][i] * 256)).toBe(true);
    expect(wide.truth.relation).toBe('bit-equal');
    expect(() => run([{ kind: 'widen', bits: 8 }])).toThrow();
  });

  it('dithered truncation has the noise of TPDF: 4.77 dB above the step alone', () => {
    const input = [noise(3, 22)];
    const out = run([{ kind: 'truncate', bits: 16, dither: true }], 9, input, 24);
    const error = Float64Array.from(out.planes[0], (x, i) => (x - input[0][i]) / 256);
    const mean = error.reduce((a, b) => a + b, 0) / FRAMES;
    const power = error.reduce((sum, e) => sum + e * e, 0) / FRAMES;
    // total error variance 3 x 1/12 (closed form); tolerance 4 standard errors of 30 000 samples
    expect(Math.abs(mean)).toBeLessThan(0.012);
    expect(Math.abs(10 * Math.log10(power * 4))).toBeLessThan(0.12);
  });

  it('dither and offset stay within their size', () => {
    const quiet = [new Int32Array(FRAMES)];
    const dithered = run([{ kind: 'dither', steps: 1 }], 3, quiet);
    expect(new Set(dithered.planes[0])).toEqual(new Set([-1, 0, 1]));
    expect(run([{ kind: 'dither', steps: 1 }], 4, quiet).planes).not.toEqual(dithered.planes);
    expect(run([{ kind: 'dither', steps: 1 }], 3, quiet).planes).toEqual(dithered.planes);
    expect(new Set(run([{ kind: 'dc', steps: -7 }], 3, quiet).planes[0])).toEqual(new Set([-7]));
  });

  it('swaps and inverts channels and says so', () => {
    const out = run([
      { kind: 'invert', channels: [1] },
      { kind: 'channels', order: [2, 1] },
    ]);
    expect(out.planes[0]).toEqual(planes[1]);
    expect(out.planes[1].every((x, i) => x === Math.min(32767, -planes[0][i]))).toBe(true);
    expect(out.truth).toMatchObject({ channelOrder: [2, 1], inverted: [false, true], relation: 'scaled' });
    expectPlaced(run([{ kind: 'channels', order: [2, 1] }]));
  });
});

describe('other clocks', () => {
  const tone = (cycles: number) =>
    Int32Array.from({ length: FRAMES }, (_, n) => Math.round(10_000 * Math.sin(2 * Math.PI * cycles * n)));

  it('drift: the capture is the tone at the other rate', () => {
    const out = run([{ kind: 'drift', ppm: 100 }], 1, [tone(0.05)]);
    expect(out.planes[0].length).toBe(FRAMES + 3);
    expect(out.truth).toMatchObject({ relation: 'resampled', driftPpm: 100 });
    for (let n = 500; n < FRAMES - 500; n++) {
      const ideal = 10_000 * Math.sin((2 * Math.PI * 0.05 * n) / 1.0001);
      expect(Math.abs(out.planes[0][n] - ideal)).toBeLessThan(1.6); // input rounding + output rounding + filter
    }
  });

  it('analogue detour: gain, delay, offset and noise as asked', () => {
    const path = { gainDb: -6, noiseRms: 4, dcSteps: 12, driftPpm: 0, delayFrames: 2.5, lowPass: 0.5 };
    const out = run([{ kind: 'analogue', ...path }], 2, [tone(0.05)]);
    expect(out.truth.relation).toBe('via-analogue');
    expect(out.truth.gain).toBeCloseTo(0.5012, 4);
    const error = Float64Array.from(
      out.planes[0],
      (x, n) => x - 5011.87 * Math.sin(2 * Math.PI * 0.05 * (n - 2.5)),
    ).slice(500, -500);
    const mean = error.reduce((a, b) => a + b, 0) / error.length;
    const rms = Math.sqrt(error.reduce((sum, e) => sum + (e - mean) ** 2, 0) / error.length);
    expect(Math.abs(mean - 12)).toBeLessThan(0.12);
    expect(Math.abs(rms - 4.03)).toBeLessThan(0.1); // 4 rms of noise and two roundings
  });

  it('the low-pass takes 3 dB at its corner', () => {
    const path = { gainDb: 0, noiseRms: 0, dcSteps: 0, driftPpm: 0, delayFrames: 0, lowPass: 0.02 };
    const out = run([{ kind: 'analogue', ...path }], 2, [tone(0.02)]);
    const peak = out.planes[0].slice(1000, -1000).reduce((a, b) => Math.max(a, b), 0);
    expect(Math.abs(20 * Math.log10(peak / 10_000) + 3.01)).toBeLessThan(0.3); // impulse invariance, not exact at the corner
  });
});

// Closed-form truth. An ideal N-bit quantiser adds step^2/12 spread evenly up to half the rate (W. Bennett 1948): 6.02 N + 1.76 dB below a full
// scale sine. A law adds what its printed table does to a sine: computed here over 30 011 phases with arithmetic of the test's own.
import { describe, expect, it } from 'vitest';
import type { SegmentLaw } from '../../base/index.ts';
import { compress, expand, Random } from '../../signal/index.ts';
import { findLaw } from '../../tape/index.ts';
import { readTone } from './tone-reading.ts';

const HZ = 997;

function sine(rateHz: number, levelDb: number, quantise: (x: number) => number): Float64Array {
  const a = 10 ** (levelDb / 20);
  return Float64Array.from({ length: Math.round(0.88 * rateHz) }, (_, n) =>
    quantise(a * Math.sin((2 * Math.PI * HZ * n) / rateHz)),
  );
}

const rounding = (bits: number) => (x: number) => Math.round(x * 2 ** (bits - 1)) / 2 ** (bits - 1);

function throughLaw(law: SegmentLaw): (x: number) => number {
  const top = 2 ** (law.linearBits - 1);
  return (x) => expand(law, compress(law, Math.max(-top, Math.min(top - 1, Math.floor(x * top))))) / top;
}

/** Residual beside the best sine and mean, over evenly spread phases. */
function lawResidual(quantise: (x: number) => number, levelDb: number): number {
  const a = 10 ** (levelDb / 20);
  const phases = 30_011;
  let [mean, inPhase, power] = [0, 0, 0];
  for (let n = 0; n < phases; n++) {
    const s = Math.sin((2 * Math.PI * (n + 0.5)) / phases);
    const y = quantise(a * s);
    mean += y / phases;
    inPhase += (2 * y * s) / phases;
    power += (y * y) / phases;
  }
  return power - mean * mean - (inPhase * inPhase) / 2;
}

describe('an ideal quantiser', () => {
  const grid = [8, 10, 12, 14, 16, 20].flatMap((bits) =>
    [31_250, 4_500_000 / 143, 44_100].flatMap((rate) =>
      [-0.5, -6, -20].filter((db) => 10 ** (db / 20) * 2 ** (bits - 1) > 30).map((db) => [bits, rate, db] as const),
    ),
  );
  it.each(grid)('of %d bits at %d Hz, tone at %d dBFS: noise and effective bits', (bits, rate, db) => {
    const reading = readTone(sine(rate, db, rounding(bits)), rate, HZ, db);
    const truth = -(6.02 * bits + 1.76);
    const wholeBand = 10 * Math.log10(reading.residualPower / 0.5);
    // 0.25 dB: step^2/12 is itself a limit for many steps; at 8 bits a sine of 25 steps lies that far from it
    expect(Math.abs(wholeBand - truth)).toBeLessThan((reading.residualDb.uncertainty ?? 0) + (bits < 12 ? 0.25 : 0));
    const level = reading.levelDb;
    expect(Math.abs((level.value ?? 0) - db)).toBeLessThan((level.uncertainty ?? 0) + (bits < 12 ? 0.02 : 0));
  });
});

describe('a companding law', () => {
  const laws = ['eight-mm', 'eight-mm-32-64-256', 'nonlinear-12', 'nonlinear-12-mid-step', 'g711-a-law', 'g711-mu-law'];
  const levels = [-1, -10, -24, -40];
  it.each(laws.flatMap((law) => levels.map((db) => [law, db] as const)))(
    '%s at %d dBFS adds what its table says',
    (id, db) => {
      const quantise = throughLaw(findLaw(id));
      const reading = readTone(sine(31_250, db, quantise), 31_250, HZ, db);
      const truth = lawResidual(quantise, db);
      const apart = 10 * Math.log10(reading.residualPower / truth);
      expect(Math.abs(apart)).toBeLessThan(reading.residualDb.uncertainty ?? 0);
    },
  );
});

describe('noise and distortion that were added', () => {
  it.each([-100, -80, -60, -40])('Gaussian noise of %d dBFS', (noiseDb) => {
    const random = new Random(3);
    const rms = 10 ** (noiseDb / 20) * Math.SQRT1_2;
    const samples = sine(48_000, -6, (x) => x).map((x) => x + rms * random.gaussian());
    const reading = readTone(samples, 48_000, HZ, -6);
    const inBand = noiseDb + 10 * Math.log10(19_980 / 24_000);
    expect(Math.abs((reading.noiseDb.value ?? 0) - inBand)).toBeLessThan(reading.noiseDb.uncertainty ?? 0);
    const thdn = inBand - 10 * Math.log10(10 ** -0.6 + 10 ** (inBand / 10));
    expect(Math.abs((reading.thdnDb.value ?? 0) - thdn)).toBeLessThan(reading.thdnDb.uncertainty ?? 0);
    expect(reading.thdDb.limit === 'at-most' || (reading.thdDb.value ?? 0) < noiseDb).toBe(true);
  });

  it('a cubic bend has the third harmonic that arithmetic gives', () => {
    // x + c x^3 with x = a sin: third harmonic c a^3 / 4, fundamental a + 3 c a^3 / 4
    const [a, c] = [0.5, 0.01];
    const samples = sine(48_000, 20 * Math.log10(a), (x) => x + c * x ** 3);
    const { thdDb, levelDb } = readTone(samples, 48_000, HZ, -6);
    const fundamental = a + 0.75 * c * a ** 3;
    expect(thdDb.value).toBeCloseTo(20 * Math.log10((0.25 * c * a ** 3) / fundamental), 2);
    expect(levelDb.value).toBeCloseTo(20 * Math.log10(fundamental), 3);
  });
});

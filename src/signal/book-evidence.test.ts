// Signals whose law is known because we made them: laws at several levels, linear sound of several word lengths, damage.
// The bounds are wide on purpose: the verdict thresholds are 10^6, and none of these cases comes near the wrong side.
import { describe, expect, it } from 'vitest';
import type { SegmentLaw } from '../base/index.ts';
import { allEightMmBreaks, eightMm, nonlinear12, withMidStep } from '../tape/index.ts';
import { bookEvidence, bookMask, compareLaws, separatingLevels } from './book-evidence.ts';
import { countValues, type ValueCounts } from './code-set.ts';
import { codeBook, roundTrip } from './companding.ts';
import { Random } from './random.ts';

/** Sound-like 16-bit values: a peaked distribution (product of normals) with the given spread, clipped. */
function sound(count: number, spread: number, seed: number): Int32Array {
  const random = new Random(seed);
  return Int32Array.from({ length: count }, () => {
    const x = Math.round(random.gaussian() * Math.abs(random.gaussian()) * spread);
    return Math.max(-32768, Math.min(32767, x));
  });
}

function throughLaw(samples: Int32Array, law: SegmentLaw): Int32Array {
  const shift = 16 - law.linearBits;
  return samples.map((x) => roundTrip(law, x, shift));
}

function counted(samples: Int32Array): ValueCounts {
  return countValues(samples, 16) ?? expect.fail('gave up');
}

const ALL_LAWS = allEightMmBreaks().flatMap((breaks) =>
  (['not', 'sign-magnitude'] as const).flatMap((mirror) => {
    const law = eightMm({ breaks, mirror });
    return [law, withMidStep(law)];
  }),
);

describe('bookMask', () => {
  it('is the book', () => {
    const mask = bookMask(nonlinear12);
    expect(mask.reduce((sum, one) => sum + one, 0)).toBe(4096);
    for (const value of codeBook(nonlinear12)) expect(mask[value & 0xffff]).toBe(1);
  });
});

describe('which 8 mm law', () => {
  const truths = [
    eightMm(),
    eightMm({ breaks: [32, 64, 256] }),
    eightMm({ breaks: [24, 80, 256] }),
    eightMm({ mirror: 'sign-magnitude' }),
    withMidStep(eightMm()),
  ];
  it.each(truths.map((law) => [law.id, law] as const))('%s is found among all, in loud sound', (_, law) => {
    const found = compareLaws(counted(throughLaw(sound(400_000, 7000, 3), law)), ALL_LAWS, 6);
    expect(found.verdict).toBe('law');
    expect(found.remaining.map((one) => one.law.id)).toEqual([law.id]);
    expect(found.ranked[0]).toMatchObject({ outside: 0, outsideValues: 0, lattice: 1 });
    expect(found.ranked[0].log10Odds).toBeGreaterThan(50);
  });

  it('is still found with 1 per cent of the samples off the book and a burst of noise', () => {
    const law = eightMm();
    const samples = throughLaw(sound(400_000, 7000, 5), law);
    const random = new Random(6);
    for (let n = 0; n < samples.length; n += 100) samples[n] = (samples[n + 1] + samples[n + 3]) >> 1;
    for (let n = 0; n < 2000; n++) samples[n] = (random.integer(1024) - 512) * 64;
    const found = compareLaws(counted(samples), ALL_LAWS, 6);
    expect(found.verdict).toBe('law');
    expect(found.remaining.map((one) => one.law.id)).toEqual([law.id]);
    expect(found.ranked[0].outside).toBeGreaterThan(2000);
  });

  it('stays open where only levels were heard at which laws agree', () => {
    const law = eightMm();
    const samples = throughLaw(sound(400_000, 400, 7), law).filter((x) => Math.abs(x) < 40 * 64);
    const found = compareLaws(counted(samples), ALL_LAWS, 6);
    const ids = found.remaining.map((one) => one.law.id);
    expect(found.verdict).toBe('law');
    expect(ids).toContain(law.id);
    expect(ids.length).toBeGreaterThan(3);
    for (const one of found.remaining) expect(one.law.segments[1].from).toBe(16);
  });

  it('cannot be told where only the lowest segment was heard', () => {
    const samples = sound(400_000, 1000, 8).map((x) => (Math.abs(x) < 15 * 64 ? x & ~63 : 0));
    const found = compareLaws(counted(samples), [eightMm(), eightMm({ breaks: [32, 64, 256] })], 6);
    expect(found.verdict).toBe('cannot-tell');
    expect(found.remaining.length).toBe(2);
    for (const one of found.ranked) expect(one).toMatchObject({ deciding: 0, log10Odds: 0, log10OddsClean: 0 });
  });

  it('counts the values that separate two laws', () => {
    const rival = eightMm({ breaks: [32, 64, 256] });
    const quiet = counted(throughLaw(sound(10_000, 100, 9), eightMm()));
    const loud = counted(throughLaw(sound(100_000, 7000, 9), eightMm()));
    expect(separatingLevels(quiet, eightMm(), rival, 6)).toBe(0);
    // 256..319 in steps of 4 against 8: every second of 16 levels, on both sides
    expect(separatingLevels(loud, eightMm(), rival, 6)).toBe(16);
  });
});

describe('linear sound', () => {
  const gains = [1, 0.69, 0.5, 0.31];
  it.each([30, 100, 300, 1000, 3000, 8000])('of spread %i is never called a law', (spread) => {
    for (let seed = 0; seed < 4; seed++) {
      for (const bits of [8, 9, 10, 12, 13, 14, 15, 16]) {
        const shift = 16 - bits;
        const samples = sound(20_000, spread, 100 + seed).map(
          (x) => Math.round((x * gains[seed % 4]) / 2 ** shift) << shift,
        );
        const set = counted(samples);
        for (const [law, lawShift] of [
          [nonlinear12, 0],
          [withMidStep(nonlinear12), 0],
          [eightMm(), 6],
        ] as const) {
          const found = bookEvidence(set, law, lawShift);
          expect(found.log10Odds, `${law.id}, ${bits} bits, seed ${seed}`).toBeLessThan(2);
          expect(found.verdict).not.toBe('law');
        }
      }
    }
  });

  it.each([8, 16, 64])('multiplied by %i and clipped is no law', (gain) => {
    for (const spread of [60, 300, 1500]) {
      const samples = sound(100_000, spread, 13).map((x) => Math.max(-32768, Math.min(32767, x * gain)));
      expect(bookEvidence(counted(samples), nonlinear12, 0).verdict).not.toBe('law');
    }
  });

  it.each([0.02, 0.1, 0.25, 0.5])('of 14 bits with a share of %f concealed is no law', (share) => {
    for (const spread of [200, 500, 1000, 4000]) {
      const random = new Random(14);
      const samples = sound(100_000, spread, 15).map((x) => x & ~3);
      for (let n = 1; n + 1 < samples.length; n += 2) {
        if (random.uniform() < 2 * share) samples[n] = (samples[n - 1] + samples[n + 1]) >> 1;
      }
      expect(bookEvidence(counted(samples), nonlinear12, 0).verdict).not.toBe('law');
    }
  });

  it('of full word length is told from every law', () => {
    const found = bookEvidence(counted(sound(200_000, 6000, 11)), nonlinear12, 0);
    expect(found.verdict).toBe('not-this-law');
    const ten = counted(sound(200_000, 6000, 12).map((x) => x & ~63));
    expect(compareLaws(ten, ALL_LAWS, 6).verdict).toBe('not-this-law');
  });
});

describe('the 12-bit law', () => {
  it.each([
    [2000, 'nonlinear-12'],
    [600, 'nonlinear-12'],
    [2000, 'nonlinear-12-mid-step'],
  ])('at spread %i is found: %s', (spread, id) => {
    const laws = [nonlinear12, withMidStep(nonlinear12)];
    const law = laws.find((one) => one.id === id) ?? nonlinear12;
    const found = compareLaws(counted(throughLaw(sound(300_000, spread, 21), law)), laws, 0);
    expect(found.verdict).toBe('law');
    expect(found.remaining.map((one) => one.law.id)).toEqual([id]);
    expect(found.ranked[0].log10Odds).toBeGreaterThan(100);
  });

  it.each([0.1, 0.25, 0.5])('is still found with a share of %f concealed', (share) => {
    const random = new Random(24);
    const samples = throughLaw(sound(300_000, 2000, 25), nonlinear12);
    for (let n = 1; n + 1 < samples.length; n += 2) {
      if (random.uniform() < 2 * share) samples[n] = (samples[n - 1] + samples[n + 1]) >> 1;
    }
    const found = bookEvidence(counted(samples), nonlinear12, 0);
    expect(found.verdict).toBe('law');
    expect(found.outside / found.samples).toBeGreaterThan(share / 4);
  });

  it('is not claimed for what was turned down by 3 dB after expansion', () => {
    const samples = throughLaw(sound(300_000, 2000, 22), nonlinear12).map((x) => Math.round(x * 0.7079));
    expect(bookEvidence(counted(samples), nonlinear12, 0).verdict).toBe('not-this-law');
  });

  it('needs little: a second of moderate speech level', () => {
    const found = bookEvidence(counted(throughLaw(sound(32_000, 800, 23), nonlinear12)), nonlinear12, 0);
    expect(found.verdict).toBe('law');
  });

  it('counts repeats once: a held value is no evidence', () => {
    const found = bookEvidence(counted(new Int32Array(1_000_000).fill(4096)), nonlinear12, 0);
    expect(found.verdict).toBe('cannot-tell');
    expect(found.deciding).toBeLessThanOrEqual(1);
  });
});

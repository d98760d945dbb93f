// True rates whose truth the test made: tones of known frequency under real recordings at every rate, tapes that change their rate, losses in the rhythm of a
// drum. Right or "cannot tell", never a sure wrong answer (reference/trade.md B 9, 10).
import { beforeAll, describe, expect, it } from 'vitest';
import { type Rate, rate, rateHz } from '../../base/index.ts';
import { loadMusic, musicFolder, REAL_MUSIC } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import type { Finding } from '../finding.ts';
import { type RateTapeOptions, rateTape } from '../testing/rate-tape.ts';
import { EXACT_RATES } from './exact-rates.ts';
import { judgeRate, type RateEvidence } from './judge-rate.ts';
import { lossPeriod } from './loss-period.ts';
import { rateChanges, rateStretches } from './rate-segments.ts';
import { StillGaps } from './still-gaps.ts';

let music: Int32Array | undefined;
const COLOUR_HZ = 6_300_000 / 143;
const LINE_525 = 2_250_000 / 143;

beforeAll(async () => {
  const pieces: Int32Array[] = [];
  for (const one of REAL_MUSIC.filter(({ bits }) => bits === 16)) {
    const folder = await musicFolder(one.package);
    if (folder) pieces.push((await loadMusic(`${folder}/${one.path}`)).planes[0]);
  }
  if (pieces.length === 0) return;
  music = new Int32Array(pieces.reduce((sum, { length }) => sum + length, 0));
  pieces.reduce((at, piece) => {
    music?.set(piece, at);
    return at + piece.length;
  }, 0);
});

async function stretchesOf(
  options: Omit<RateTapeOptions, 'music' | 'seed'> & { readonly seed?: number },
  context: { skip(note?: string): never },
) {
  if (!music) return context.skip('no recordings');
  const tape = rateTape({ seed: 1, ...options, music: [music] });
  const gaps = new StillGaps(Math.round(0.02 * options.headerHz), options.headerHz);
  for await (const block of tape.source.blocks()) gaps.push(block);
  return { stretches: await rateStretches(tape.source, gaps.finish()), starts: tape.starts };
}

describe('the line of a picture tells 44.056 from 44.1 kHz in a minute', () => {
  it.for([
    [44_100, LINE_525],
    [COLOUR_HZ, LINE_525],
    [44_100, 15_625],
    [48_000, 15_625],
    [48_000 / 1.001, LINE_525],
  ])('%f Hz with a line of %f Hz', async ([trueHz, hz], context) => {
    const headerHz = trueHz < 46_000 ? 44_100 : 48_000;
    const sections = [{ trueHz, seconds: 60, gapSeconds: 0 }];
    const { stretches } = await stretchesOf({ headerHz, sections, line: { hz, levelDb: -78 } }, context);
    const [{ rate: answer, support }] = stretches;
    expect(answer && rateHz(answer)).toBeCloseTo(trueHz, 6);
    expect(Math.abs(support[0].fittedHz / trueHz - 1) * 1e6).toBeLessThan(20);
  });
});

describe('hum tells 31.25 and 31.47 from 32 kHz', () => {
  it.for([
    [31_250, 50],
    [4_500_000 / 143, 60],
    [32_000, 50],
    [32_000, 60],
  ])('%f Hz with %i Hz mains, 0.04 % off', async ([trueHz, hz], context) => {
    const sections = [{ trueHz, seconds: 90, gapSeconds: 0 }];
    const hum = { hz: hz * 1.0004, levelDb: -52 };
    const { stretches } = await stretchesOf({ headerHz: 32_000, sections, hum, seed: 2 }, context);
    expect(stretches[0].rate && rateHz(stretches[0].rate)).toBeCloseTo(trueHz, 6);
  });

  it('but not 44.056 from 44.1', async (context) => {
    const sections = [{ trueHz: COLOUR_HZ, seconds: 90, gapSeconds: 0 }];
    const { stretches } = await stretchesOf({ headerHz: 44_100, sections, hum: { hz: 60, levelDb: -52 } }, context);
    expect(stretches[0].support.map((one) => Math.round(one.rateHz))).toEqual([44_056, 44_100, 44_144]);
  });
});

// The recordings were made at 44.1 kHz and one of them holds hum of 60 Hz mains: at any header, 44100 is the truth.
it.for([32_000, 44_100, 48_000])(
  'recordings as they are, called %i Hz: their own rate, or nothing',
  async (headerHz, context) => {
    const sections = Array.from({ length: 4 }, () => ({ trueHz: headerHz, seconds: 40, gapSeconds: 0.4 }));
    const { stretches } = await stretchesOf({ headerHz, sections }, context);
    expect(stretches.length).toBeGreaterThan(3);
    expect(stretches.flatMap(({ rate: one }) => (one ? [rateHz(one)] : [])).filter((hz) => hz !== 44_100)).toEqual([]);
  },
);

describe('changes along a tape', () => {
  it('four changes among nine pauses: each at its frame, none false', async (context) => {
    const hz = [48_000, 48_000, 44_100, 44_100, 32_000, 32_000, 48_000, 48_000, 32_000, 32_000];
    const sections = hz.map((trueHz, i) => ({ trueHz, seconds: 40 + 3 * i, gapSeconds: i === 0 ? 0 : 0.3 + 0.1 * i }));
    const { stretches, starts } = await stretchesOf(
      { headerHz: 48_000, sections, hum: { hz: 50, levelDb: -56 } },
      context,
    );
    const changes = rateChanges(stretches);
    expect(changes.map(({ before, after }) => [before.num, after.num])).toEqual([
      [48_000, 44_100],
      [44_100, 32_000],
      [32_000, 48_000],
      [48_000, 32_000],
    ]);
    for (const [i, { at, orAt }] of changes.entries()) {
      // +-50 ms, reference/trade.md B 9
      expect(Math.abs(at - starts[2 * i + 2])).toBeLessThan(0.05 * 48_000);
      expect(orAt).toEqual([]);
    }
  });
});

describe('the rhythm of losses', () => {
  const losses = (period: number, count: number, seed: number): Finding[] => {
    const random = new Random(seed);
    const from = random.integer(period);
    return Array.from({ length: count }, () => {
      const start = period > 1 ? from + period * random.integer(5000) + random.integer(3) : random.integer(10_000_000);
      return {
        detector: 'muted',
        version: 1,
        kind: 'muted',
        channels: [1],
        start,
        length: 300,
        confidence: 1,
        expectedByChance: 0,
        measured: 0,
        expected: 0,
        unit: '',
        detail: {},
      };
    });
  };

  it.each([
    [1050, [4_500_000 / 143]],
    [1250, [31_250]],
    [735, [COLOUR_HZ, 44_100]],
    [1764, [44_100]],
    [1440, [48_000]],
    [1323, [44_100]],
    [1920, [32_000, 48_000]],
  ])('every %i samples', (period, rates) => {
    expect(lossPeriod(losses(period, 60, period))?.rates.map(rateHz)).toEqual(rates);
  });

  it('many losses in a few bursts have none', () => {
    for (let seed = 0; seed < 100; seed++) {
      const random = new Random(seed);
      const bursts = losses(1, 20, seed).flatMap((one) =>
        Array.from({ length: 15 }, () => ({ ...one, start: one.start + random.integer(400) })),
      );
      expect(lossPeriod(bursts)).toBeUndefined();
    }
  });

  it('losses anywhere, and too few, have none', () => {
    for (let seed = 0; seed < 300; seed++) expect(lossPeriod(losses(1, 100, seed))).toBeUndefined();
    expect(lossPeriod(losses(735, 8, 1))).toBeUndefined();
  });
});

describe('weighing', () => {
  const piece = (over: Partial<RateEvidence>): RateEvidence => ({
    ...{ kind: 'clock', text: 'x', measuredHz: null, uncertaintyPpm: null, allows: null, isClaim: false, assumes: '' },
    ...over,
  });
  const measured = (hz: number, ppm: number) => piece({ measuredHz: hz, uncertaintyPpm: ppm });
  const COLOUR = rate(6_300_000, 143);

  it.each<[string, Rate, RateEvidence[], number | null, number | null]>([
    ['nothing', rate(44_100), [], null, null],
    ['a claim alone', rate(44_100), [piece({ isClaim: true, allows: [COLOUR] })], null, null],
    ['a minute by a clock of 50 ppm', rate(44_100), [measured(44_056.2, 50)], COLOUR_HZ, -999],
    ['the same, at 44.1', rate(44_100), [measured(44_099, 50)], 44_100, 0],
    ['a clock too rough', rate(44_100), [measured(44_080, 900)], null, null],
    [
      'losses and a rough clock',
      rate(44_100),
      [piece({ allows: [COLOUR, rate(44_100)] }), measured(44_060, 450)],
      COLOUR_HZ,
      -999,
    ],
    ['losses alone leave two', rate(44_100), [piece({ allows: [COLOUR, rate(44_100)] })], null, null],
    ['no exact rate near', rate(48_000), [measured(48_025.8, 20)], null, 538],
    ['a contradiction', rate(44_100), [piece({ allows: [rate(31_250)] }), measured(44_100, 50)], null, null],
  ])('%s', (_, header, evidence, exact, ppm) => {
    const answer = judgeRate(header, evidence);
    expect(answer.rate && rateHz(answer.rate)).toBe(exact);
    expect(answer.ppm === null ? null : Math.round(answer.ppm) + 0).toBe(ppm);
  });

  it('every exact rate is told from its neighbours by a clock of 50 ppm', () => {
    for (const { rate: one } of EXACT_RATES) {
      for (const off of [-100, -50, 0, 50, 100]) {
        const answer = judgeRate(rate(48_000), [measured(rateHz(one) * (1 + off * 1e-6), 50)]);
        expect(answer.rate && rateHz(answer.rate)).toBe(rateHz(one));
      }
    }
  });
});

// Lines drawn in the codes of each law over real music, with known places: how many of those that anybody could see are found, and
// how many findings are true. Visible: design.md 5, counted in codes: (1.2 / spread of the codes' second differences)^(samples
// changed) x samples < 0.01. Near misses stay silent. More recordings: npm run score.
import { describe, expect, it } from 'vitest';
import { memorySource, rate, type SegmentLaw, spanEnd } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { conceal, damageOf, encodeTape, type Loss, lossAt, type Rounding } from '../../simulate/index.ts';
import { eightMm, nonlinear12 } from '../../tape/index.ts';
import type { Finding } from '../finding.ts';
import { examineSource } from '../pass.ts';
import { codeBook } from './code-book.ts';

const MUSIC = ['guitar', 'choir', 'drums', 'tabla', 'seashore'];
const RATE = rate(44_100);
/** With the least share of the visible found where the deck counts in codes: with a spread of a few codes most bursts lie at the border. */
const LAWS: readonly (readonly [string, SegmentLaw, number])[] = [
  ['the 12-bit law', nonlinear12, 0.9],
  ['the 8 mm law', eightMm(), 0.8],
];

async function findingsIn(planes: readonly Int32Array[]): Promise<readonly Finding[]> {
  return (await examineSource(memorySource(planes, { name: 'test', rate: RATE, bits: 16 }), [codeBook])).findings;
}

/** Runs of 4 to 24 samples and every second sample of up to 301, about one in 5000 frames. */
function lossesIn(frames: number, random: Random): Loss[] {
  const losses: Loss[] = [];
  for (let start = 3000; start + 1000 < frames; start += 4000 + random.integer(2000)) {
    const length = [4, 6, 8, 12, 16, 24][random.integer(6)];
    losses.push(
      random.integer(3) === 0
        ? lossAt(1, start, 101 + 100 * random.integer(3), 'test', 2)
        : lossAt(1, start, length, 'test'),
    );
  }
  return losses;
}

function isVisible(codes: Int32Array, { start, length }: Loss, changed: number): boolean {
  let squares = 0;
  const [from, to] = [Math.max(1, start - 256), Math.min(codes.length - 1, start + length + 256)];
  for (let i = from; i < to; i++) squares += (2 * codes[i] - codes[i - 1] - codes[i + 1]) ** 2;
  const spread = Math.sqrt(squares / (to - from));
  return changed * Math.log(Math.min(1, 1.2 / spread)) + Math.log(codes.length) < Math.log(0.01);
}

describe.each(LAWS)('means in the codes of %s', (_, law, leastInCodes) => {
  it.for([
    ['codes', leastInCodes],
    ['samples', 0.95],
  ] as const)('counted in %s: visible bursts are found, and next to nothing else', async ([domain, least], context) => {
    let [visible, found, findings, right] = [0, 0, 0, 0];
    for (const name of MUSIC) {
      const { planes } = await loadMusic(await needMusic(context, name));
      const random = new Random(7).fork(name);
      const words = { rate: RATE, wordBits: law.linearBits, outputBits: 16, law, shorten: 'round' } as const;
      const tape = encodeTape({ planes: [planes[0]], bits: 16, rate: RATE }, words);
      const losses = lossesIn(planes[0].length, random);
      const rounding = (['floor', 'nearest', 'toward-zero', 'ceil'] as const)[random.integer(4)] satisfies Rounding;
      const rules = [{ upTo: Number.POSITIVE_INFINITY, method: { kind: 'line', rounding } }] as const;
      const damaged = conceal(tape, damageOf(1, planes[0].length, [losses]), { rules, domain });
      const told = await findingsIn(damaged.planes);
      const touches = (a: Finding, b: Loss) => a.start < spanEnd(b) && b.start < spanEnd(a);
      findings += told.length;
      right += told.filter((one) => losses.some((loss) => touches(one, loss))).length;
      for (const loss of losses) {
        const own = damaged.events.filter((e) => e.start >= loss.start && spanEnd(e) <= spanEnd(loss));
        const changed = own.reduce((sum, e) => sum + e.changed, 0);
        if (!isVisible(tape.codes?.[0] as Int32Array, loss, changed)) continue;
        visible++;
        if (told.some((one) => one.kind === 'interpolated' && touches(one, loss))) found++;
      }
    }
    expect(visible).toBeGreaterThan(50);
    expect(found / visible).toBeGreaterThanOrEqual(least);
    expect(right / findings).toBeGreaterThanOrEqual(0.95);
  });

  it('a burst says the law, the domain, the place and the number', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'drums'));
    const words = { rate: RATE, wordBits: law.linearBits, outputBits: 16, law } as const;
    const tape = encodeTape({ planes: [planes[0]], bits: 16, rate: RATE }, words);
    const rules = [{ upTo: 99, method: { kind: 'line', rounding: 'floor' } }] as const;
    const damage = damageOf(1, planes[0].length, [[lossAt(1, 88_000, 24, 'test')]]);
    const told = await findingsIn(conceal(tape, damage, { rules, domain: 'codes' }).planes);
    expect(told).toMatchObject([
      {
        kind: 'interpolated',
        channels: [1],
        start: 88_000,
        length: 24,
        measured: 24,
        detail: { law: law.id, domain: 'codes' },
      },
    ]);
  });

  it.for(MUSIC)(
    'so quiet that no law shows: lattices are found all the same on %s, and only where they are',
    async (name, context) => {
      const { planes } = await loadMusic(await needMusic(context, name));
      const softer = planes[0].map((x) => x >> (law.linearBits === 16 ? 7 : 10));
      const words = { rate: RATE, wordBits: law.linearBits, outputBits: 16, law } as const;
      const tape = encodeTape({ planes: [softer.map((x) => x << (16 - law.linearBits))], bits: 16, rate: RATE }, words);
      const rules = [{ upTo: 999, method: { kind: 'line', rounding: 'floor' } }] as const;
      const loss = lossAt(1, 88_000, 1601, 'test', 2);
      const told = await findingsIn(
        conceal(tape, damageOf(1, softer.length, [[loss]]), { rules, domain: 'codes' }).planes,
      );
      for (const one of told) {
        expect(one.detail.domain).toBe('samples');
        expect(one.start < spanEnd(loss) && loss.start < spanEnd(one)).toBe(true);
      }
      expect(await findingsIn(tape.planes)).toEqual([]);
    },
  );

  it.for(MUSIC)('undamaged, linear, or under a gain: silent on %s', async (name, context) => {
    const { planes } = await loadMusic(await needMusic(context, name));
    const words = { rate: RATE, wordBits: law.linearBits, outputBits: 16, law } as const;
    const [companded] = encodeTape({ planes: [planes[0]], bits: 16, rate: RATE }, words).planes;
    expect(await findingsIn([companded])).toEqual([]);
    expect(await findingsIn([planes[0]])).toEqual([]);
    expect(await findingsIn([companded.map((x) => Math.round(0.7 * x))])).toEqual([]);
  });
});

// Detector: whether the values that occur are those of a companding law, which law, and with which break points. The code book
// itself is the evidence (signal/book-evidence.ts has the mathematics). Where a law is sure, samples outside its book are reported as
// concealed: they were not on the tape. Not for word length.
import type { Block, FrameInfo, JsonObject, SegmentLaw, Span } from '../../base/index.ts';
import {
  type BookEvidence,
  CodeSetSession,
  compareLaws,
  type LawComparison,
  StepCounter,
  type ValueCounts,
} from '../../signal/index.ts';
import { allEightMmBreaks, eightMm, nonlinear12, withMidStep } from '../../tape/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import type { Finding } from '../finding.ts';
import { type OffBookBurst, OffBookScan } from './off-book.ts';

export interface CodeBookSettings extends JsonObject {
  /** distinct values beyond which no companding law of a tape format can be meant (the 12-bit law has 4096) */
  readonly mostValues: number;
  /** share of samples that may lie outside the book: concealed or disturbed ones */
  readonly strayShare: number;
  readonly fewestSamples: number;
  readonly fewestValues: number;
}

export const codeBook: Detector<CodeBookSettings> = {
  meta: {
    id: 'code-book',
    version: 1,
    label: 'Code book',
    needs: 'a word of at least 10 bits',
    settings: { mostValues: 70_000, strayShare: 0.2, fewestSamples: 1000, fewestValues: 24 },
  },
  begin(info, settings, emit) {
    if (info.bits < 10) return { notApplicable: `a word of ${info.bits} bits; the laws are expanded to 10 or more` };
    return new CodeBookSession(info, settings, emit);
  },
};

interface Family {
  readonly name: string;
  readonly laws: readonly SegmentLaw[];
}

/** A family's laws at one position of the word in the container. */
interface Trial extends LawComparison {
  readonly family: Family;
  readonly shift: number;
}

class CodeBookSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: CodeBookSettings;
  readonly #emit: Emit;
  readonly #sets: CodeSetSession[];
  readonly #steps: StepCounter[];
  readonly #scans = new Map<number, { readonly scan: OffBookScan; readonly trial: Trial }>();

  constructor(info: FrameInfo, settings: CodeBookSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#sets = Array.from(
      { length: info.channels },
      () => new CodeSetSession(info.bits, { limit: settings.mostValues }),
    );
    this.#steps = Array.from({ length: info.channels }, () => new StepCounter());
  }

  push(block: Block): void {
    const statistics = statisticsOf(block);
    for (let c = 0; c < this.#sets.length; c++) {
      if (this.#sets[c].gaveUp) continue;
      this.#sets[c].push(block.planes[c]);
      this.#steps[c].add(statistics[c]);
    }
  }

  finish(): readonly Span[] | undefined {
    for (const [c, session] of this.#sets.entries()) {
      const set = session.finish();
      if (set === undefined) this.#tooMany(c);
      else this.#judge(c, set, this.#steps[c].stepExponent(0.98));
    }
    return this.#scans.size > 0 ? [{ start: 0, length: this.#info.frames }] : undefined;
  }

  look(block: Block): void {
    for (const [c, { scan }] of this.#scans) scan.push(block.start, block.planes[c]);
  }

  finishLook(): void {
    for (const [c, { scan, trial }] of this.#scans) {
      for (const burst of scan.bursts) this.#emit.finding(findingOf(c, burst, trial));
    }
  }

  #judge(c: number, set: ValueCounts, unusedBits: number): void {
    if (set.samples < this.#settings.fewestSamples || set.values.length < this.#settings.fewestValues) {
      this.#say(c, set, 'cannot tell', 0, undefined);
      return;
    }
    const trials = families().flatMap((family) =>
      shiftsOf(family, this.#info.bits, unusedBits)
        .filter((shift) => outsideWord(set, family, shift) <= this.#settings.strayShare)
        .map((shift): Trial => ({ ...compareLaws(set, family.laws, shift), family, shift })),
    );
    const named = trials.filter((trial) => trial.verdict === 'law' && this.#fits(trial.ranked[0]));
    const best = named.sort((a, b) => b.ranked[0].log10Odds - a.ranked[0].log10Odds)[0];
    if (best) this.#sayLaw(c, set, best);
    else if (trials.every((trial) => isExcluded(trial, this.#settings.strayShare))) {
      const doubt = Math.max(1e-6, ...trials.map((trial) => chanceOfLaw(trial)));
      this.#say(c, set, 'linear', 1 - doubt, trials[0]);
    } else this.#say(c, set, 'cannot tell', 0, trials[0]);
  }

  #fits(evidence: BookEvidence): boolean {
    return evidence.outside <= this.#settings.strayShare * evidence.samples;
  }

  #sayLaw(c: number, set: ValueCounts, trial: Trial): void {
    const remaining = trial.remaining.filter((one) => one.verdict === 'law');
    const isUnique = remaining.length === 1;
    const confidence = 1 / (1 + 10 ** -Math.min(300, trial.ranked[0].log10Odds));
    if (isUnique && trial.ranked[0].outside > 0) {
      this.#scans.set(c, { scan: new OffBookScan(trial.ranked[0].law, trial.shift), trial });
    }
    this.#say(c, set, isUnique ? trial.ranked[0].law.id : 'cannot tell', isUnique ? confidence : 0, trial);
  }

  #say(c: number, set: ValueCounts, answer: string, confidence: number, trial: Trial | undefined): void {
    const best = trial?.ranked[0];
    const remaining = trial?.remaining ?? [];
    this.#emit.verdict({
      channel: c + 1,
      question: 'code-book',
      answer,
      confidence,
      detectionLimit: limitText(answer, trial, set),
      evidence: {
        distinctValues: set.values.length,
        samples: set.samples,
        bestLaw: best?.law.id ?? null,
        log10Odds: best ? round(best.log10Odds) : null,
        log10OddsClean: best ? round(best.log10OddsClean) : null,
        decidingIntervals: best?.deciding ?? 0,
        outsideBook: best?.outside ?? 0,
        isCompanded: trial?.verdict === 'law',
        remainingLaws: remaining.slice(0, 12).map((one) => one.law.id),
        remainingCount: remaining.length,
        chart: chartOf(set),
      },
    });
  }

  #tooMany(c: number): void {
    this.#emit.verdict({
      channel: c + 1,
      question: 'code-book',
      answer: 'linear',
      confidence: 0.999,
      detectionLimit: `more than ${this.#settings.mostValues} distinct values: no companding law of a tape format has so many`,
      evidence: { distinctValues: this.#settings.mostValues, isCompanded: false },
    });
  }
}

/** By chance only if the law is not the law. */
function findingOf(c: number, { start, length, samples }: OffBookBurst, trial: Trial): Finding {
  const [best] = trial.ranked;
  const expectedByChance = 10 ** -Math.min(300, best.log10Odds);
  return {
    detector: 'code-book',
    version: 1,
    kind: 'interpolated',
    channels: [c + 1],
    start,
    length,
    confidence: 1 / (1 + expectedByChance),
    expectedByChance,
    measured: samples,
    expected: 0,
    unit: 'samples outside the book',
    detail: { law: best.law.id, log10Chance: -Math.min(300, Math.round(best.log10Odds * 10) / 10) },
  };
}

/** Laws of tape formats: the 12-bit law, and the 8 mm law with every possible set of break points (none is proven). */
function families(): Family[] {
  const variants = (laws: readonly SegmentLaw[]) => [...laws, ...laws.map(withMidStep)];
  const eight = allEightMmBreaks().flatMap((breaks) => [
    eightMm({ breaks }),
    eightMm({ breaks, mirror: 'sign-magnitude' }),
  ]);
  return [
    { name: '12-bit nonlinear', laws: variants([nonlinear12]) },
    { name: '8 mm', laws: variants(eight) },
  ];
}

/** Left-justified, and as far right as the unused low bits of the samples allow. */
function shiftsOf(family: Family, bits: number, unusedBits: number): number[] {
  const top = bits - family.laws[0].linearBits;
  return [...new Set([top, Math.min(top, unusedBits)])].filter((shift) => shift >= 0);
}

/** Share of samples that no word of the family's length can hold: with many, the family is out before any law is weighed. */
function outsideWord(set: ValueCounts, family: Family, shift: number): number {
  const half = 2 ** (family.laws[0].linearBits - 1);
  let outside = set.outOfRange;
  for (let i = 0; i < set.values.length; i++) {
    const level = set.values[i] / 2 ** shift;
    if (!Number.isInteger(level) || level < -half || level >= half) outside += set.counts[i];
  }
  return outside / Math.max(1, set.samples);
}

/** The law cannot be meant: too much lies outside, or the levels between the book's are used as linear sound uses them. */
function isExcluded(trial: Trial, strayShare: number): boolean {
  const best = trial.ranked[0];
  return (
    trial.verdict === 'not-this-law' ||
    trial.ranked.every((one) => one.outside > strayShare * one.samples && best.samples > 0)
  );
}

function chanceOfLaw(trial: Trial): number {
  const clean = Math.max(...trial.ranked.map((one) => one.log10OddsClean));
  return clean >= 0 ? 1e-6 : 10 ** Math.max(-300, clean);
}

function limitText(answer: string, trial: Trial | undefined, set: ValueCounts): string {
  const deciding = trial?.ranked[0].deciding ?? 0;
  if (answer === 'cannot tell' && trial?.verdict === 'law') {
    return `companded, but ${trial.remaining.length} sets of break points fit equally: louder or longer sound would decide`;
  }
  if (answer === 'cannot tell') {
    return `${deciding} coarse steps were exercised by ${set.samples} samples: too few, or too quiet, to tell a law from linear`;
  }
  return `decided from ${deciding} coarse steps; a law whose coarse segments were never reached cannot be told from linear`;
}

/** For the picture: spacing to the next used value against magnitude, thinned; and the smallest values with their counts. */
function chartOf(set: ValueCounts): JsonObject {
  const positive: number[] = [];
  for (const value of set.values) if (value >= 0) positive.push(value);
  const points: number[][] = [];
  const stride = Math.max(1, Math.floor(positive.length / 256));
  for (let i = 0; i + 1 < positive.length; i += stride) points.push([positive[i], positive[i + 1] - positive[i]]);
  const nearZero: number[][] = [];
  for (let i = 0; i < set.values.length; i++) {
    if (Math.abs(set.values[i]) <= 64 && nearZero.length < 129) nearZero.push([set.values[i], set.counts[i]]);
  }
  return { spacing: points, nearZero };
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}

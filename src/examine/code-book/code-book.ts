// Detector: whether the values that occur are those of a companding law, which law, and with which break points. The code book
// itself is the evidence (signal/book-evidence.ts has the mathematics). Where a law is sure, samples outside its book are reported as
// concealed: they were not on the tape; and so are rows of means in its codes (code-means.ts). Not for word length.
import type { Block, FrameInfo, JsonObject, Span } from '../../base/index.ts';
import type { ValueCounts } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import type { Finding } from '../finding.ts';
import { BookSections } from './book-sections.ts';
import { CodeMeans, type CompandedChannel } from './code-means.ts';
import { type BookJudgement, isBelowLaws, judgeBook, type Trial } from './judge-book.ts';
import { type OffBookBurst, OffBookScan } from './off-book.ts';
import { unusedBitsOf } from './value-counts.ts';

export interface CodeBookSettings extends JsonObject {
  /** distinct values beyond which no companding law of a tape format can be meant (the 12-bit law has 4096) */
  readonly mostValues: number;
  /** share of samples that may lie outside the book: concealed or disturbed ones */
  readonly strayShare: number;
  readonly fewestSamples: number;
  readonly fewestValues: number;
  /** most findings of means in codes by chance over the whole channel that one of them may stand for: a hundredth for each lattice tried */
  readonly chanceLimit: number;
}

export const codeBook: Detector<CodeBookSettings> = {
  meta: {
    id: 'code-book',
    version: 5,
    label: 'Code book',
    needs: 'a word of at least 10 bits',
    settings: { mostValues: 70_000, strayShare: 0.2, fewestSamples: 1000, fewestValues: 24, chanceLimit: 0.07 },
  },
  begin(info, settings, emit) {
    if (info.bits < 10) return { notApplicable: `a word of ${info.bits} bits; the laws are expanded to 10 or more` };
    return new CodeBookSession(info, settings, emit);
  },
};

class CodeBookSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: CodeBookSettings;
  readonly #emit: Emit;
  readonly #sections: readonly BookSections[];
  readonly #scans = new Map<number, { readonly scan: OffBookScan; readonly trial: Trial }>();
  readonly #means: CodeMeans[] = [];

  constructor(info: FrameInfo, settings: CodeBookSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#sections = Array.from({ length: info.channels }, () => new BookSections(info.bits, settings.mostValues));
  }

  push(block: Block): void {
    for (const [c, sections] of this.#sections.entries()) sections.push(block.planes[c]);
  }

  finish(): readonly Span[] | undefined {
    for (const [c, sections] of this.#sections.entries()) {
      sections.finish();
      const judgement = judgeBook(sections, this.#info.bits, this.#settings);
      this.#say(c, judgement, sections);
      const { answer, trial, part } = judgement;
      const law = trial?.verdict === 'law' && part === undefined ? trial.ranked[0].law : undefined;
      if (!trial || !law) {
        if (isBelowLaws(judgement))
          this.#listen({ channel: c, law: undefined, shift: unusedBitsOf(judgement.set), offBook: [] });
        continue;
      }
      const offBook = new OffBookScan(law, trial.shift);
      this.#listen({ channel: c, law, shift: trial.shift, offBook: offBook.bursts });
      // Sets of break points that fit equally have the same codes for this sound, but not the same books.
      if (law.id === answer) this.#scans.set(c, { scan: offBook, trial });
    }
    if (this.#means.length === 0) return undefined;
    return [{ start: 0, length: this.#info.frames }];
  }

  #listen(companded: CompandedChannel): void {
    const { id, version } = codeBook.meta;
    this.#means.push(new CodeMeans(this.#info, companded, { id, version, ...this.#settings }));
  }

  look(block: Block): void {
    for (const [c, { scan }] of this.#scans) scan.push(block.start, block.planes[c]);
    for (const means of this.#means) means.push(block);
  }

  finishLook(): void {
    for (const [c, { scan, trial }] of this.#scans) {
      for (const burst of scan.bursts) this.#emit.finding(findingOf(c, burst, trial));
    }
    for (const means of this.#means) means.finish(this.#emit);
  }

  #say(c: number, judgement: BookJudgement, { linear }: BookSections): void {
    const { answer, confidence, set, trial } = judgement;
    const best = trial?.ranked[0];
    const remaining = trial?.remaining ?? [];
    this.#emit.verdict({
      channel: c + 1,
      question: 'code-book',
      answer,
      confidence,
      detectionLimit: `${limitText(judgement)}${countedText(linear.frames)}`,
      evidence: {
        distinctValues: set.values.length,
        samples: set.samples,
        framesOutsideEveryBook: linear.frames,
        bestLaw: best?.law.id ?? null,
        log10Odds: best ? round(best.log10Odds) : null,
        log10OddsClean: best ? round(best.log10OddsClean) : null,
        decidingIntervals: best?.deciding ?? 0,
        outsideBook: best?.outside ?? 0,
        rarerHalf: best ? Number(best.rarerHalf.toFixed(3)) : null,
        isCompanded: trial?.verdict === 'law',
        remainingLaws: remaining.slice(0, 12).map((one) => one.law.id),
        remainingCount: remaining.length,
        chart: chartOf(set),
      },
    });
  }
}

/** By chance only if the law is not the law. */
function findingOf(c: number, { start, length, samples }: OffBookBurst, trial: Trial): Finding {
  const [best] = trial.ranked;
  const expectedByChance = 10 ** -Math.min(300, best.log10Odds);
  return {
    detector: 'code-book',
    version: codeBook.meta.version,
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

function limitText({ answer, trial, set, part }: BookJudgement): string {
  const deciding = trial?.ranked[0].deciding ?? 0;
  if (part && trial) {
    return `the recording changes: ${part.frames} frames between ${part.first} and ${part.last} are companded (${trial.ranked[0].law.id} fits best), others are not. Cut it and examine the parts`;
  }
  if (answer === 'cannot tell' && trial?.verdict === 'law') {
    return `companded, but ${trial.remaining.length} sets of break points fit equally: louder or longer sound would decide`;
  }
  if (answer === 'cannot tell') {
    return `${deciding} coarse steps were exercised by ${set.samples} samples: too few, or too quiet, to tell a law from linear`;
  }
  if (deciding === 0) return 'no law of a tape format has values for nearly all of the samples';
  return `decided from ${deciding} coarse steps; a law whose coarse segments were never reached cannot be told from linear`;
}

/** What was looked at less closely. */
function countedText(linearFrames: number): string {
  if (linearFrames === 0) return '';
  return `; ${linearFrames} frames lie in stretches that leave every book, of which only the beginnings were looked at`;
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

// How strongly the values that occur speak for a code book (the values a companding law can produce) and against linear samples
// of the same word length; and which of several books remain possible. Not for naming formats: laws come in as data.
//
// Mathematics. On each side of zero a law cuts the magnitudes into intervals of `step` neighbouring levels, one of which is in the
// book. Linear sound spreads over neighbouring levels with a density that is smooth over a few steps; by exchangeability the
// book's level is the most frequent one of its interval with a chance of at most 1/step. A `hit` asks for more: the level must hold more
// than twice the samples of every off-book level within step - 1 of it on BOTH sides (both, so that a falling density cannot
// favour the level nearest zero). That only lowers the chance, so charging 1/step is conservative. Each interval counts ONCE
// however many samples fell in it: repeated values and slow signals are no evidence, and autocorrelation does no harm.
// An interval that holds any sample is `deciding`, a hit or a miss. Concealed and disturbed samples lie off the book, so
// under the law a share e of the intervals may behave as in linear sound:
//     odds(e) = product over hits of ((1 - e) step + e)  *  product over misses of e
// log10Odds takes the best e and subtracts 1/2 log10(intervals + 1) for having chosen it; log10OddsClean fixes e = 0.02.
// Rival with fewer bits: linear words of fewer bits lie on multiples of d = 2^k. d is the largest whose multiples hold 75 per cent of the
// non-zero samples below the first coarse segment (where a law leaves every level free, so that its own share of even values
// is about a half), or above it, clipped samples left out, where fewer than 8 levels were heard below; `step` is replaced by
// step / d. So a short or shifted linear recording is no evidence for a law, even when partly concealed or clipped. Where only
// step 1 (or d) was exercised the odds are 1: nobody can tell.
// Rival of changing word length: coders that drop low bits where it is loud leave multiples of 2^k, k by the moment, which the books hold
// too. They use every second level of a segment hardly ever, which a law uses as often as the others: then no law is claimed.
// Law against law: odds against the same linear samples are compared. A law that is too fine leaves `holes`: levels of its book
// that stay (nearly) empty between two of its levels with 50 samples or more. Each hole is charged a factor of 100 (a choice, not
// a derivation: by counting alone the factor would be far larger). Limits: a digital gain by a ratio leaves a comb that is not modelled.
import type { SegmentLaw } from '../base/index.ts';
import type { ValueCounts } from './code-set.ts';
import { codeBook, linearMagnitudes } from './companding.ts';

export type BookVerdict = 'law' | 'not-this-law' | 'cannot-tell';

export interface BookEvidence {
  readonly law: SegmentLaw;
  readonly samples: number;
  /** samples whose value the law cannot produce */
  readonly outside: number;
  /** distinct values among them */
  readonly outsideValues: number;
  /** intervals with more than one level in which samples lie */
  readonly deciding: number;
  readonly hits: number;
  /** levels of the book that stayed empty although both neighbours in the book were well filled */
  readonly holes: number;
  /** log10 of the odds for the law against linear samples, contamination fitted */
  readonly log10Odds: number;
  /** the same with at most 2 per cent of the intervals contaminated; very negative for linear sound */
  readonly log10OddsClean: number;
  /** of the samples on the book's levels in coarse segments, the share on every second level (the rarer ones); 1/2 where there are few */
  readonly rarerHalf: number;
  /** fitted share of contaminated intervals, 0 to 1 */
  readonly contaminated: number;
  /** the lattice the samples keep anyway: 1, 2, 4 .. levels of the law's linear word */
  readonly lattice: number;
  /** odds of a million to one either way, else `cannot-tell` */
  readonly verdict: BookVerdict;
}

export interface LawComparison {
  /** best first */
  readonly ranked: readonly BookEvidence[];
  /** those no observation separates from the best by more than a factor of 1000, the best included; all, where none is supported */
  readonly remaining: readonly BookEvidence[];
  /** whether the best is a law rather than linear samples */
  readonly verdict: BookVerdict;
}

/** A law's book and its mask are asked for by every channel, and there are thousands of laws: kept as long as the law itself. */
const known = new WeakMap<SegmentLaw, Book>();

interface Book {
  readonly book: Int32Array;
  readonly mask: Uint8Array;
  /** linear value by code magnitude: of the positive side */
  readonly values: Int32Array;
}

function bookOf(law: SegmentLaw): Book {
  let found = known.get(law);
  if (!found) {
    const book = codeBook(law);
    const values = linearMagnitudes(law);
    found = { book, mask: maskOf(book, law.linearBits), values };
    known.set(law, found);
  }
  return found;
}

/** Those of the laws (of equal `linearBits`) whose book holds all but a share of the samples. */
export function lawsWithin(
  set: ValueCounts,
  laws: readonly SegmentLaw[],
  shift: number,
  mostOutside: number,
): readonly SegmentLaw[] {
  if (laws.length === 0) return laws;
  const levels = levelsOf(set, laws[0].linearBits, shift);
  return laws.filter((law) => outsideOf(levels, bookOf(law).mask).samples <= mostOutside * set.samples);
}

/** 1 where the law can produce the value; indexed by the value's low `linearBits` bits. */
export function bookMask(law: SegmentLaw): Uint8Array {
  return maskOf(codeBook(law), law.linearBits);
}

/**
 * `shift`: how many bits further left the samples stand than the law's linear word (6 for 10 bits in a 16-bit container).
 * Samples with anything in those low bits, or beyond the word, lie outside the book.
 */
export function bookEvidence(set: ValueCounts, law: SegmentLaw, shift: number): BookEvidence {
  return weigh(levelsOf(set, law.linearBits, shift), law);
}

/**
 * Ranks laws of equal `linearBits` by the same odds against linear samples.
 * Laws that agree wherever samples lie come out equal and all remain.
 */
export function compareLaws(set: ValueCounts, laws: readonly SegmentLaw[], shift: number): LawComparison {
  if (laws.length === 0) throw new Error('no law to compare');
  const levels = levelsOf(set, laws[0].linearBits, shift);
  const ranked = laws.map((law) => weigh(levels, law)).sort((a, b) => score(b) - score(a));
  const best = ranked[0];
  const verdict = ranked.some((one) => one.verdict === 'law') ? 'law' : commonVerdict(ranked);
  const isOpen = (one: BookEvidence) =>
    verdict === 'law' ? score(one) >= score(best) - 3 : one.verdict !== 'not-this-law';
  return { ranked, remaining: ranked.filter(isOpen), verdict };
}

/** log10, comparable between laws of one recording */
function score(one: BookEvidence): number {
  return one.log10Odds - 2 * one.holes;
}

/** Observed distinct values that one law can produce and the other cannot: what separates the two in this recording. */
export function separatingLevels(set: ValueCounts, a: SegmentLaw, b: SegmentLaw, shift: number): number {
  const [inA, inB] = [bookMask(a), bookMask(b)];
  const levels = levelsOf(set, a.linearBits, shift);
  let found = 0;
  for (let at = 0; at < levels.counts.length; at++) {
    const bits = (at - levels.half) & (inA.length - 1);
    if (levels.counts[at] > 0 && inA[bits] !== inB[bits]) found++;
  }
  return found;
}

function maskOf(book: Int32Array, linearBits: number): Uint8Array {
  const mask = new Uint8Array(2 ** linearBits);
  for (const value of book) mask[value & (mask.length - 1)] = 1;
  return mask;
}

/** Counts on the law's own linear scale; `counts[half + x]` belongs to value x. */
interface Levels {
  readonly counts: Float64Array;
  readonly half: number;
  /** those that occurred, ascending */
  readonly used: Int32Array;
  readonly samples: number;
  readonly between: number;
  readonly betweenValues: number;
}

function levelsOf(set: ValueCounts, linearBits: number, shift: number): Levels {
  const half = 2 ** (linearBits - 1);
  const counts = new Float64Array(2 * half);
  let between = set.outOfRange;
  let betweenValues = 0;
  const used = new Int32Array(set.values.length);
  let n = 0;
  for (let i = 0; i < set.values.length; i++) {
    const level = set.values[i] / 2 ** shift;
    if (Number.isInteger(level) && level >= -half && level < half) {
      counts[half + level] = set.counts[i];
      used[n++] = level;
    } else {
      between += set.counts[i];
      betweenValues++;
    }
  }
  return { counts, half, used: used.slice(0, n), samples: set.samples, between, betweenValues };
}

/** Hits by effective step, and misses. */
interface Tally {
  readonly hitsByStep: Map<number, number>;
  hits: number;
  misses: number;
}

function weigh(levels: Levels, law: SegmentLaw): BookEvidence {
  const { book, mask } = bookOf(law);
  const lattice = latticeOf(levels, law);
  const tally = tallyOf(law, lattice, [sideOf(levels, mask, law, 1), sideOf(levels, mask, law, -1)]);
  const deciding = tally.hits + tally.misses;
  const contaminated = bestShare(tally);
  const log10Odds = deciding === 0 ? 0 : logOdds(tally, contaminated) - 0.5 * Math.log10(deciding + 1);
  const log10OddsClean = logOdds(tally, CLEAN_SHARE);
  const off = outsideOf(levels, mask);
  const rarerHalf = rarerHalfOf(levels, law, lattice);
  return {
    law,
    samples: levels.samples,
    outside: off.samples,
    outsideValues: off.values,
    deciding,
    hits: tally.hits,
    holes: holesOf(levels, book),
    log10Odds,
    log10OddsClean,
    contaminated,
    rarerHalf,
    lattice,
    verdict:
      log10Odds >= 6 && rarerHalf >= LEAST_HALF
        ? 'law'
        : log10OddsClean <= -6 && log10Odds < 2
          ? 'not-this-law'
          : 'cannot-tell',
  };
}

const CLEAN_SHARE = 0.02;
/** A law uses neighbouring levels of its book alike; a choice, far below what any law gave and far above what shorter words give. */
const LEAST_HALF = 0.1;
const FEWEST_PAIRED = 200;

/** See "Rival of changing word length" in the head of this file. */
function rarerHalfOf({ counts, half }: Levels, law: SegmentLaw, lattice: number): number {
  const { values } = bookOf(law);
  const sums = [0, 0];
  for (const [n, { code, step }] of law.segments.entries()) {
    if (step <= lattice) continue;
    const end = law.segments[n + 1]?.code ?? 2 ** (law.codeBits - 1);
    for (let k = code; k < end; k++) {
      const value = values[k];
      sums[(k - code) % 2] += counts[half + value] + (counts[half + (law.mirror === 'not' ? ~value : -value)] ?? 0);
    }
  }
  const all = sums[0] + sums[1];
  return all < FEWEST_PAIRED ? 0.5 : Math.min(...sums) / all;
}

function commonVerdict(ranked: readonly BookEvidence[]): BookVerdict {
  return ranked.every((one) => one.verdict === 'not-this-law') ? 'not-this-law' : 'cannot-tell';
}

/** One side of zero by magnitude: all samples, and those off the book. */
interface Side {
  readonly all: Float64Array;
  readonly off: Float64Array;
}

function sideOf({ counts, half, used }: Levels, mask: Uint8Array, law: SegmentLaw, sign: 1 | -1): Side {
  const end = used.length === 0 ? 0 : Math.max(-used[0], used[used.length - 1]);
  const side = { all: new Float64Array(end + 1), off: new Float64Array(end + 1) };
  for (let n = 0; n < used.length; n++) {
    const value = used[n];
    const m = sign === 1 ? value : law.mirror === 'not' ? ~value : -value;
    if (m < 0) continue;
    const count = counts[half + value];
    side.all[m] = count;
    side.off[m] = mask[value & (mask.length - 1)] === 1 ? 0 : count;
  }
  return side;
}

function tallyOf(law: SegmentLaw, lattice: number, sides: readonly Side[]): Tally {
  const { values } = bookOf(law);
  const tally: Tally = { hitsByStep: new Map(), hits: 0, misses: 0 };
  for (let n = 0; n < law.segments.length; n++) {
    const { from, code, step } = law.segments[n];
    const end = law.segments[n + 1]?.code ?? 2 ** (law.codeBits - 1);
    if (step <= lattice) continue;
    for (let k = 0; k < end - code; k++) {
      const bookLevel = values[code + k];
      for (const side of sides) enter(tally, side, { from: from + k * step, step, bookLevel }, step / lattice);
    }
  }
  return tally;
}

interface Interval {
  /** magnitudes from .. from + step - 1 */
  readonly from: number;
  readonly step: number;
  /** the magnitude that is in the book */
  readonly bookLevel: number;
}

function enter(tally: Tally, side: Side, { from, step, bookLevel }: Interval, charged: number): void {
  if (largest(side.all, from, from + step) === 0) return;
  const rival = largest(side.off, bookLevel - step + 1, bookLevel + step);
  if (side.all[bookLevel] > 2 * rival) {
    tally.hits++;
    tally.hitsByStep.set(charged, (tally.hitsByStep.get(charged) ?? 0) + 1);
  } else tally.misses++;
}

function largest(counts: Float64Array, from: number, to: number): number {
  const end = Math.min(to, counts.length);
  let found = 0;
  for (let m = Math.max(from, 0); m < end; m++) if (counts[m] > found) found = counts[m];
  return found;
}

function holesOf(levels: Levels, book: Int32Array): number {
  const count = (n: number) => levels.counts[levels.half + book[n]];
  let holes = 0;
  for (let n = 1; n + 1 < book.length; n++) {
    const beside = Math.min(count(n - 1), count(n + 1));
    if (beside >= 50 && count(n) <= beside / 8) holes++;
  }
  return holes;
}

/** log10 of odds(share) as in the head of this file. */
function logOdds({ hitsByStep, misses }: Tally, share: number): number {
  let sum = misses === 0 ? 0 : misses * Math.log10(share);
  for (const [step, hits] of hitsByStep) sum += hits * Math.log10((1 - share) * step + share);
  return sum;
}

/** The share of contaminated intervals with the best odds: the logarithm is concave in it, so thirds close in on it. */
function bestShare(tally: Tally): number {
  if (tally.misses === 0) return 0;
  let [low, high] = [1e-9, 1];
  for (let n = 0; n < 48; n++) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
    if (logOdds(tally, a) < logOdds(tally, b)) low = a;
    else high = b;
  }
  return (low + high) / 2;
}

/** See "Rival with fewer bits" in the head of this file. */
function latticeOf(levels: Levels, law: SegmentLaw): number {
  const coarse = law.segments.find((segment) => segment.step > 1)?.from ?? levels.half;
  const border = Math.max(coarse, 1);
  const low = latticeWithin(levels, 1, border);
  return low.levels >= 8 ? low.lattice : latticeWithin(levels, border, extremeOf(levels)).lattice;
}

/** Over values whose absolute value lies in from .. to - 1: the largest 2^k whose multiples hold 75 per cent of them. */
function latticeWithin({ counts, half, used }: Levels, from: number, to: number): { lattice: number; levels: number } {
  const kept = new Float64Array(32);
  let [total, levels] = [0, 0];
  for (let n = 0; n < used.length; n++) {
    const value = used[n];
    if (Math.abs(value) < from || Math.abs(value) >= to) continue;
    const count = counts[half + value];
    levels++;
    total += count;
    kept[31 - Math.clz32(value & -value)] += count;
  }
  let above = total;
  let bits = 0;
  while (bits < 31 && above - kept[bits] >= 0.75 * total) above -= kept[bits++];
  return { lattice: 2 ** bits, levels };
}

/** The smaller of the two outermost magnitudes: clipped samples pile up there, off any lattice. */
function extremeOf({ used }: Levels): number {
  return used.length === 0 ? 1 : Math.max(1, Math.min(Math.abs(used[0]), Math.abs(used[used.length - 1])));
}

function outsideOf(levels: Levels, mask: Uint8Array): { samples: number; values: number } {
  let samples = levels.between;
  let values = levels.betweenValues;
  for (let n = 0; n < levels.used.length; n++) {
    const value = levels.used[n];
    if (mask[value & (mask.length - 1)] === 1) continue;
    samples += levels.counts[levels.half + value];
    values++;
  }
  return { samples, values };
}

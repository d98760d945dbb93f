// What the values counted of a channel say about companding: a law, linear, or that nobody can tell. Not for counting (book-sections.ts)
// nor for words to the user (code-book.ts).
import { compareLaws, type LawComparison, lawsWithin, type ValueCounts } from '../../signal/index.ts';
import { type Family, families, outsideWord, shiftsOf } from './book-families.ts';
import type { BookSections, PossibleCounts, StretchTally } from './book-sections.ts';
import { mergedCounts, unusedBitsOf } from './value-counts.ts';

export interface JudgeSettings {
  readonly strayShare: number;
  readonly fewestSamples: number;
  readonly fewestValues: number;
}

/** A family's laws at one position of the word in the container. */
export interface Trial extends LawComparison {
  readonly family: Family;
  readonly shift: number;
}

export interface BookJudgement {
  /** id of a law, "linear" or "cannot tell" */
  readonly answer: string;
  readonly confidence: number;
  /** what it rests on */
  readonly set: ValueCounts;
  readonly trial: Trial | undefined;
  /** what is companded, where the rest of the recording is not */
  readonly part?: StretchTally;
}

/** A recording that leaves every book for longer than a deck conceals is linear, or it changes on the way. */
export function judgeBook(sections: BookSections, bits: number, settings: JudgeSettings): BookJudgement {
  const groups = sections.possible();
  const linearSet = sections.linearCounts();
  const { frames } = sections.linear;
  const all = groups.reduce((sum, { tally }) => sum + tally.frames, frames);
  const isPart = frames > settings.strayShare * all;
  const set = isPart ? linearSet : groups.reduce((sum, { counts }) => mergedCounts(sum, counts), linearSet);
  const whole = judgeSet(set, bits, settings);
  if (whole.trial?.verdict === 'law' || groups.length + Math.sign(frames) < 2) return whole;
  return judgeParts(groups, bits, settings) ?? whole;
}

/** Less of something else is an edge or an accident, no change of the recording. */
const FEWEST_FRAMES = 32_768;

function judgeParts(
  groups: readonly PossibleCounts[],
  bits: number,
  settings: JudgeSettings,
): BookJudgement | undefined {
  for (const { counts, tally } of groups) {
    if (tally.frames < FEWEST_FRAMES || !isEnough(counts, settings)) continue;
    const trial = bestLaw(trialsOf(counts, bits, settings), settings);
    if (trial) return { answer: 'cannot tell', confidence: 0, set: counts, trial, part: tally };
  }
  return undefined;
}

function judgeSet(set: ValueCounts, bits: number, settings: JudgeSettings): BookJudgement {
  const open = { answer: 'cannot tell', confidence: 0, set };
  if (!isEnough(set, settings)) return { ...open, trial: undefined };
  const trials = trialsOf(set, bits, settings);
  const law = bestLaw(trials, settings);
  if (law) {
    const [best] = law.ranked;
    if (law.remaining.length > 1) return { ...open, trial: law };
    return { answer: best.law.id, confidence: 1 / (1 + 10 ** -Math.min(300, best.log10Odds)), set, trial: law };
  }
  if (!trials.every((trial) => isExcluded(trial, settings.strayShare))) return { ...open, trial: trials[0] };
  const doubt = Math.max(1e-6, ...trials.map((trial) => chanceOfLaw(trial)));
  return { answer: 'linear', confidence: 1 - doubt, set, trial: trials[0] };
}

/** Samples beyond the first segment of every law, of a sound that says nothing of laws. */
const LOUD_SHARE = 0.01;

/** Whether nobody can tell a law because next to all of the sound lies in the first segments, whose steps are equal: what a deck
 * does there it does in codes and in samples alike. */
export function isBelowLaws({ answer, part, set }: BookJudgement): boolean {
  if (answer !== 'cannot tell' || part || set.samples === 0) return false;
  const step = 2 ** unusedBitsOf(set);
  const first = Math.max(
    ...families().map(({ laws: [{ segments }] }) => segments.find((one) => one.step > 1)?.from ?? 0),
  );
  let loud = set.outOfRange;
  for (let i = 0; i < set.values.length; i++) if (Math.abs(set.values[i]) >= first * step) loud += set.counts[i];
  return loud <= LOUD_SHARE * set.samples;
}

function isEnough(set: ValueCounts, { fewestSamples, fewestValues }: JudgeSettings): boolean {
  return set.samples >= fewestSamples && set.values.length >= fewestValues;
}

/** Only laws whose book holds all samples but the stray ones: weighing the others would cost the most and say nothing. */
function trialsOf(set: ValueCounts, bits: number, { strayShare }: JudgeSettings): Trial[] {
  const unused = unusedBitsOf(set);
  return families().flatMap((family) =>
    shiftsOf(family, bits, unused).flatMap((shift): Trial[] => {
      if (outsideWord(set, family, shift) > strayShare) return [];
      const laws = lawsWithin(set, family.laws, shift, strayShare);
      return laws.length > 0 ? [{ ...compareLaws(set, laws, shift), family, shift }] : [];
    }),
  );
}

function bestLaw(trials: readonly Trial[], { strayShare }: JudgeSettings): Trial | undefined {
  const named = trials.filter(
    ({ verdict, ranked: [best] }) => verdict === 'law' && best.outside <= strayShare * best.samples,
  );
  return named.sort((a, b) => b.ranked[0].log10Odds - a.ranked[0].log10Odds)[0];
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

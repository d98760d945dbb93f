// The chance of a row on a lattice of period 2 or more: the rate of hits on it against the rate off it and around it. Not for unbroken rows (judge-line.ts).
import { foretoldChance } from './foretold.ts';
import type { HitRule } from './hits.ts';
import {
  type Context,
  FEWEST_VALUES,
  HOLD_ROUNDING,
  type Judgement,
  type Place,
  type Stretch,
} from './judged-stretch.ts';
import { LATTICE_PERIODS } from './lattice-scan.ts';
import { isReplacedAt, type LatticeTally, tallyOf } from './lattice-tally.ts';
import type { HitCounts, MarkedSound } from './marked-sound.ts';
import { isRestLevel } from './rest-level.ts';
import { chanceToGoOn } from './run-lengths.ts';

/** Rows on a lattice: share of hits a phase must have to be called replaced. */
const PHASE_SHARE = 0.9;

/** Sound that moves by fewer quantising steps than this from sample to sample off a lattice is soft, and so is sound of few values: a
 * made waveform falls into step with a lattice there. */
const SOFT_SPREAD = 2;
/** It says nothing where it hardly moves at all, */
const LEAST_SPREAD = 0.5;
/** or where it is nearer to itself two periods before than this, in moves from sample to sample. */
const LEAST_NEW = 0.7;
/** Neighbouring samples of soft sound are alike: so many hits together are one throw. */
const HITS_TOGETHER = 2;

/** Per phase, counted from the candidate's first sample, whether nearly all its places in the candidate are hit. Undefined where
 * that is no lattice, or hits off it and around it are too many for it to count. */
export function phasesOf(
  { marks }: MarkedSound,
  { from, to }: Place,
  period: number,
  around: HitCounts,
  enough: number,
): readonly boolean[] | undefined {
  hitsInPhase.fill(0, 0, period);
  for (let i = from, phase = 0; i < to; i++) {
    hitsInPhase[phase] += marks[i];
    phase = phase + 1 === period ? 0 : phase + 1;
  }
  let [phases, replaced, misses, offHits, offPlaces] = [0, 0, 0, 0, 0];
  for (let phase = 0; phase < period; phase++) {
    const hits = hitsInPhase[phase];
    const places = placesIn(to - from, period, phase);
    if (isReplaced(hits, places)) {
      phases++;
      replaced += hits;
      misses += places - hits;
    } else {
      offHits += hits;
      offPlaces += places;
    }
  }
  if (phases === 0 || phases === period) return undefined;
  const counted = Math.min(0.999, countedChance(offHits, offPlaces, around));
  if (replaced * Math.log(counted) + latticeChoices(period, phases, replaced, misses) > enough) return undefined;
  return Array.from({ length: period }, (_, phase) =>
    isReplaced(hitsInPhase[phase], placesIn(to - from, period, phase)),
  );
}

function placesIn(frames: number, period: number, phase: number): number {
  return Math.ceil((frames - phase) / period);
}

function isReplaced(hits: number, places: number): boolean {
  return places >= 3 && hits >= PHASE_SHARE * places;
}

/** Of the candidate at hand. */
const hitsInPhase = new Int32Array(Math.max(...LATTICE_PERIODS));

/** Of a hit off the lattice, and around it. */
function countedChance(offHits: number, offPlaces: number, around: HitCounts): number {
  return Math.max(
    // A rate counted in few places may be higher by its own spread.
    (offHits + 0.5 + Math.sqrt(offHits)) / (offPlaces + 1),
    (offHits + around.hits + 0.5) / (offPlaces + around.places + 1),
  );
}

/** Choosing the phases is a choice among 2^period patterns, and every miss among `replaced` places is one more. */
function latticeChoices(period: number, phases: number, replaced: number, misses: number): number {
  return phases * Math.log(period) + misses * Math.log(replaced + 1) + Math.log(4);
}

/** A lattice of period >= 2: the rate on it against the rate off it and around it. */
export function judgeLattice(
  stretch: Stretch,
  rule: HitRule,
  context: Context,
  isOn: readonly boolean[],
  enough: number,
): Judgement | undefined {
  const { samples, from, to, step } = stretch;
  const tally = tallyOf(stretch, rule, isOn);
  const { replaced, misses, first, last } = tally;
  const rounding = roundingOf(stretch, isOn, rule);
  const chance = new LatticeChance(tally, rounding.width, countedChance(tally.offHits, tally.offPlaces, context), isOn);
  if (chance.log(step) > enough) return undefined;
  const localStep = context.local().stepOver(samples, from, to, (i) => isReplacedAt(stretch, isOn, i));
  const isSoft = isSoftSound(tally, chance.spreadAt(localStep), context);
  if (isSoft && (chance.spreadAt(localStep) < LEAST_SPREAD || tally.movedInPeriods < LEAST_NEW * tally.moved))
    return undefined;
  const together = isSoft ? HITS_TOGETHER : 1;
  const least = chance.log(localStep, together);
  if (least > enough) return undefined;
  if (rule.kind === 'held') {
    const resting = restingHits(stretch, isOn);
    if (resting > 0 && chance.log(localStep, together, replaced - resting) > enough) return undefined;
  }
  const bySound = isMostOfIt(stretch)
    ? 0
    : extraBySound(stretch, rule, isOn, { width: rounding.width, step: localStep }, chance.ofHit(localStep));
  const logChance = least + bySound / together;
  if (logChance > enough) return undefined;
  return {
    from: first,
    to: last + 1,
    period: isOn.length,
    pattern: Array.from(isOn, (_, k) => (isOn[(first - from + k) % isOn.length] ? 'x' : '.')).join(''),
    replaced,
    misses,
    besideShare: tally.beside / Math.max(1, tally.inMiddle),
    logChance,
    rounding: rounding.name,
  };
}

/** What is around a lattice longer than that is, for the most part, the lattice itself. */
function isMostOfIt({ samples, from, to }: Stretch): boolean {
  return 2 * (to - from) > samples.length;
}

/** Sound in which a made waveform falls into step with a lattice. */
function isSoftSound({ offValues, offPlaces }: LatticeTally, spread: number, { isMonotonous }: Context): boolean {
  return spread < SOFT_SPREAD || isMonotonous || offValues < Math.min(FEWEST_VALUES, offPlaces / 4);
}

/** The chance of all replaced places, by the roughness of the places off the lattice and by how often hits are counted there. */
class LatticeChance {
  readonly #tally: LatticeTally;
  readonly #width: number;
  readonly #counted: number;
  readonly #choices: number;

  constructor(tally: LatticeTally, width: number, counted: number, isOn: readonly boolean[]) {
    this.#tally = tally;
    this.#width = width;
    this.#counted = counted;
    this.#choices = latticeChoices(isOn.length, isOn.filter(Boolean).length, tally.replaced, tally.misses);
  }

  /** In steps of that value. */
  spreadAt(step: number): number {
    const { offRoughness, offPlaces } = this.#tally;
    return (1.25 * offRoughness) / Math.max(1, offPlaces) / step;
  }

  ofHit(step: number): number {
    return Math.min(0.999, Math.max((0.4 * this.#width) / Math.max(0.4, this.spreadAt(step)), this.#counted));
  }

  /** Natural logarithm; so many hits `together` are one throw. */
  log(step: number, together = 1, hits = this.#tally.replaced): number {
    return (hits / together) * Math.log(this.ofHit(step)) + this.#choices;
  }
}

/** What the logarithm of the chance gains where the sound makes hits on that lattice by itself. */
function extraBySound(
  stretch: Stretch,
  rule: HitRule,
  isOn: readonly boolean[],
  value: { readonly width: number; readonly step: number },
  known: number,
): number {
  const chanceAt = chanceBySound(stretch, rule, isOn, value);
  let extra = 0;
  for (let i = stretch.from; i < stretch.to; i++)
    if (isReplacedAt(stretch, isOn, i)) extra += Math.log(Math.max(1, chanceAt(i) / known));
  return extra;
}

/** Of a hit at a place, 0..1, where the sound makes hits on that lattice by itself: from the places beside, and from how often one hit is
 * followed by the next around. */
function chanceBySound(
  { samples, marks, from, to }: Stretch,
  rule: HitRule,
  isOn: readonly boolean[],
  value: { readonly width: number; readonly step: number },
): (i: number) => number {
  const foretold = foretoldChance({ samples, from, to, isOn }, rule, value);
  // Samples held by chance lie at the turns of the sound, and say nothing of a hold on a slope.
  if (rule.kind === 'held' || rule.isFlatTold) return foretold;
  // Of the values that are a hit one rounding leaves two thirds.
  const goesOn = chanceToGoOn(marks, { from, to }, isOn.length) * (value.width < rule.width ? 2 / 3 : 1);
  return (i) => Math.max(foretold(i), goesOn);
}

/** Hits in rows of the lattice at a level to which the sound returns. */
function restingHits(stretch: Stretch, isOn: readonly boolean[]): number {
  const { samples, from, to } = stretch;
  const levels = new Map<number, boolean>();
  let count = 0;
  for (let i = from; i < to; i++) {
    if (!isReplacedAt(stretch, isOn, i)) continue;
    const value = samples[i];
    const isRest = levels.get(value) ?? isRestLevel(samples, value);
    levels.set(value, isRest);
    if (isRest) count++;
  }
  return count;
}

/** Whether one rounding explains every replaced sample; then only one value per sample counts as a hit, not three. */
function roundingOf(stretch: Stretch, isOn: readonly boolean[], rule: HitRule): { name: string; width: number } {
  if (rule.kind === 'held') return HOLD_ROUNDING;
  const { samples, from, to, step } = stretch;
  let [floor, ceil, toZero, exact, all] = [0, 0, 0, 0, 0];
  for (let i = from; i < to; i++) {
    if (!isReplacedAt(stretch, isOn, i)) continue;
    const second = (2 * samples[i] - samples[i - 1] - samples[i + 1]) / step;
    all++;
    if (second === 0) exact++;
    if (second <= 0 && second > -2) floor++;
    if (second >= 0 && second < 2) ceil++;
    if (second === 0 || second * samples[i] <= 0) toZero++;
  }
  if (exact === all) return { name: 'exact', width: 1 };
  if (floor === all) return { name: 'down', width: 1 };
  if (ceil === all) return { name: 'up', width: 1 };
  if (toZero === all) return { name: 'toward zero', width: 1 };
  return { name: 'mixed', width: rule.width };
}

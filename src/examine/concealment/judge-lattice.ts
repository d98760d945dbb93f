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
  const { samples, marks, from, to, step } = stretch;
  const period = isOn.length;
  const onPhases = isOn.filter(Boolean).length;
  let offHits = 0;
  let offPlaces = 0;
  let offRoughness = 0;
  let moved = 0;
  let movedInPeriods = 0;
  const offValues = new Set<number>();
  let replaced = 0;
  let misses = 0;
  let [beside, inMiddle] = [0, 0];
  const quarter = (to - from) >> 2;
  let first = -1;
  let last = -1;
  for (let i = from; i < to; i++) {
    if (isOn[(i - from) % period]) {
      const isInMiddle = i >= from + quarter && i < to - quarter;
      if (isInMiddle) inMiddle++;
      if (marks[i]) {
        replaced++;
        if (first < 0) first = i;
        last = i;
      } else {
        misses++;
        if (isInMiddle && rule.roughness(samples.subarray(i - 1, i + 2), 1) > 0) beside++;
      }
    } else {
      offPlaces++;
      if (offValues.size < FEWEST_VALUES) offValues.add(samples[i]);
      offHits += marks[i];
      moved += Math.abs(samples[i] - samples[i - 1]);
      movedInPeriods += Math.abs(samples[i] - samples[Math.max(0, i - 2 * period)]);
      offRoughness += rule.roughness(samples.subarray(i - 1, i + 2), 1);
    }
  }
  const isReplaced = (i: number) => marks[i] === 1 && isOn[(i - from) % period];
  const { name, width } = roundingOf(samples, from, to, isReplaced, rule, step);
  const choices = latticeChoices(period, onPhases, replaced, misses);
  const counted = countedChance(offHits, offPlaces, context);
  const spreadAt = (valueStep: number) => (1.25 * offRoughness) / Math.max(1, offPlaces) / valueStep;
  const logChanceAt = (valueStep: number, together = 1, hits = replaced) => {
    const chance = Math.max((0.4 * width) / Math.max(0.4, spreadAt(valueStep)), counted);
    return (hits / together) * Math.log(Math.min(0.999, chance)) + choices;
  };
  if (logChanceAt(step) > enough) return undefined;
  const localStep = context.local().stepOver(samples, from, to, isReplaced);
  const spread = spreadAt(localStep);
  const isSoft =
    spread < SOFT_SPREAD || context.isMonotonous || offValues.size < Math.min(FEWEST_VALUES, offPlaces / 4);
  if (isSoft && (spread < LEAST_SPREAD || movedInPeriods < LEAST_NEW * moved)) return undefined;
  const together = isSoft ? HITS_TOGETHER : 1;
  if (rule.kind === 'held' && logChanceAt(localStep, together) <= enough) {
    const resting = restingHits(samples, from, to, isReplaced);
    if (resting > 0 && logChanceAt(localStep, together, replaced - resting) > enough) return undefined;
  }
  let logChance = logChanceAt(localStep, together);
  if (logChance > enough) return undefined;
  const base = Math.min(0.999, Math.max((0.4 * width) / Math.max(0.4, spread), counted));
  // What is around a lattice longer than that is, for the most part, the lattice itself.
  if (2 * (to - from) <= samples.length) {
    const chanceAt = chanceBySound(stretch, rule, isOn, { width, step: localStep });
    for (let i = from; i < to; i++)
      if (isReplaced(i)) logChance += Math.log(Math.max(1, chanceAt(i) / base)) / together;
  }
  if (logChance > enough) return undefined;
  return {
    from: first,
    to: last + 1,
    period,
    pattern: Array.from({ length: period }, (_, k) => (isOn[(first - from + k) % period] ? 'x' : '.')).join(''),
    replaced,
    misses,
    besideShare: beside / Math.max(1, inMiddle),
    logChance,
    rounding: name,
  };
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
function restingHits(samples: Int32Array, from: number, to: number, isReplaced: (i: number) => boolean): number {
  const levels = new Map<number, boolean>();
  let count = 0;
  for (let i = from; i < to; i++) {
    if (!isReplaced(i)) continue;
    const value = samples[i];
    const isRest = levels.get(value) ?? isRestLevel(samples, value);
    levels.set(value, isRest);
    if (isRest) count++;
  }
  return count;
}

/** Whether one rounding explains every replaced sample; then only one value per sample counts as a hit, not three. */
function roundingOf(
  samples: Int32Array,
  from: number,
  to: number,
  isReplaced: (i: number) => boolean,
  rule: HitRule,
  step: number,
): { name: string; width: number } {
  if (rule.kind === 'held') return HOLD_ROUNDING;
  let floor = 0;
  let ceil = 0;
  let toZero = 0;
  let exact = 0;
  let all = 0;
  for (let i = from; i < to; i++) {
    if (!isReplaced(i)) continue;
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

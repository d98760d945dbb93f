// Second look at one candidate: which lattice explains it best, and how likely the same row would be by chance, taken
// from the sound around it. Pure; the caller cuts the context. Chance is deliberately over-stated where in doubt.
import { fitPredictor, predictionResidual } from '../../signal/index.ts';
import type { HitRule } from './hits.ts';
import { LATTICE_PERIODS } from './lattice-scan.ts';
import { LocalValues } from './local-step.ts';
import type { HitCounts, MarkedSound } from './marked-sound.ts';

/** A candidate in marked sound: indices of its first and behind its last sample, and of those of its surroundings. */
export interface Place {
  readonly from: number;
  readonly to: number;
  readonly begin: number;
  readonly end: number;
}

/** What is weighed: the surroundings alone, and the candidate in them. */
interface Stretch {
  readonly samples: Int32Array;
  readonly marks: Uint8Array;
  readonly from: number;
  readonly to: number;
  readonly step: number;
}

export interface Judgement {
  /** index in the sound of the first and behind the last replaced sample */
  readonly from: number;
  readonly to: number;
  readonly period: number;
  /** phases of the lattice relative to `from`, as x and . over one period */
  readonly pattern: string;
  readonly replaced: number;
  readonly misses: number;
  /** natural logarithm of the probability of this row at one given place */
  readonly logChance: number;
  readonly rounding: string;
}

const ORDER = 16;
/** Rows on a lattice: share of hits a phase must have to be called replaced. */
const PHASE_SHARE = 0.9;
const SUBWINDOW = 64;
/** Share of the sound around that may lie midway between its neighbours. */
const MOST_HITS = 0.5;
/** Different values that sound around a candidate must have. */
const FEWEST_VALUES = 24;
/** Quantising steps by which sound off a lattice must move from sample to sample. */
const LEAST_LATTICE_SPREAD = 2;
/** Samples beside a row whose roughness bounds the chance of the row. */
const ADJACENT = 8;
/** Samples at either end of a row that may be sound: next to a line one sample in many is a mean by chance. */
const MAY_BE_SOUND = 2;
const FEWEST_IN_LINE = 4;

/** Explanations of one candidate: a lattice of its period, or each unbroken row of at least two hits in it. `enough` is the
 * logarithm of the chance that still counts; rows that cannot reach it are not weighed further. */
export function judge(sound: MarkedSound, candidate: Place, period: number, enough: number): Judgement[] {
  const place = period === 1 ? wholeRow(sound, candidate) : candidate;
  const around = sound.countAround(place.begin, place.end, place.from, place.to);
  // Nearly all candidates end here: smooth sound raises them on every lattice.
  const rows = period === 1 ? rowsOf(sound, place, around, enough) : [];
  const isOn = period === 1 ? undefined : phasesOf(sound, place, period, around, enough);
  if (rows.length === 0 && !isOn) return [];
  const { samples, marks, step } = sound;
  const { begin, end } = place;
  const stretch = {
    samples: samples.subarray(begin, end),
    marks: marks.subarray(begin, end),
    from: place.from - begin,
    to: place.to - begin,
    step,
  };
  if (isMonotonous(stretch)) return [];
  const context = contextOf(stretch, around);
  const found = isOn
    ? [judgeLattice(stretch, sound.rule, context, isOn, enough)]
    : rows.map(({ from, to }) =>
        judgeLine(stretch, sound.rule, { from: from - begin, to: to - begin }, context, enough),
      );
  return found
    .filter((judgement) => judgement !== undefined)
    .filter(({ logChance }) => logChance <= enough)
    .map((judgement) => ({ ...judgement, from: judgement.from + begin, to: judgement.to + begin }));
}

/** The first look loses a long row where the sound is even for a cell: its ends are where the hits end. */
function wholeRow({ marks }: MarkedSound, { from, to, begin, end }: Place): Place {
  let [first, last] = [from, to];
  while (first > begin + 2 && marks[first] === 1 && marks[first - 1] === 1) first--;
  while (last < end - 2 && marks[last - 1] === 1 && marks[last] === 1) last++;
  return { from: first, to: last, begin, end };
}

/** Per phase, counted from the candidate's first sample, whether nearly all its places in the candidate are hit. Undefined where
 * that is no lattice, or hits off it and around it are too many for it to count. */
function phasesOf(
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

interface Context extends HitCounts {
  /** what steps the sound around keeps */
  readonly local: () => LocalValues;
}

/** What the sound outside the candidate is like. */
function contextOf({ samples, from, to, step }: Stretch, around: HitCounts): Context {
  let local: LocalValues | undefined;
  return {
    ...around,
    // Sorting the surroundings costs as much as a prediction: only for rows that are rare enough otherwise.
    local: () => {
      local ??= new LocalValues(samples, from, to, step);
      return local;
    },
  };
}

/** Few different values: a made waveform, in which rows prove nothing. */
function isMonotonous({ samples, from, to }: Stretch): boolean {
  if (samples.length - (to - from) <= FEWEST_VALUES) return false;
  const values = new Set<number>();
  for (let i = 1; i < samples.length - 1 && values.size < FEWEST_VALUES; i++) {
    if (i < from || i >= to) values.add(samples[i]);
  }
  return values.size < FEWEST_VALUES;
}

/** A lattice of period >= 2: the rate on it against the rate off it and around it. */
function judgeLattice(
  { samples, marks, from, to, step }: Stretch,
  rule: HitRule,
  context: Context,
  isOn: readonly boolean[],
  enough: number,
): Judgement | undefined {
  const period = isOn.length;
  const onPhases = isOn.filter(Boolean).length;
  let offHits = 0;
  let offPlaces = 0;
  let offRoughness = 0;
  const offValues = new Set<number>();
  let replaced = 0;
  let misses = 0;
  let first = -1;
  let last = -1;
  for (let i = from; i < to; i++) {
    if (isOn[(i - from) % period]) {
      if (marks[i]) {
        replaced++;
        if (first < 0) first = i;
        last = i;
      } else misses++;
    } else {
      offPlaces++;
      if (offValues.size < FEWEST_VALUES) offValues.add(samples[i]);
      offHits += marks[i];
      offRoughness += rule.roughness(samples.subarray(i - 1, i + 2), 1);
    }
  }
  if (offValues.size < Math.min(FEWEST_VALUES, offPlaces / 4)) return undefined;
  const isReplaced = (i: number) => marks[i] === 1 && isOn[(i - from) % period];
  const { name, width } = roundingOf(samples, from, to, isReplaced, rule, step);
  const choices = latticeChoices(period, onPhases, replaced, misses);
  const counted = countedChance(offHits, offPlaces, context);
  const logChanceAt = (valueStep: number) => {
    const spread = (1.25 * offRoughness) / Math.max(1, offPlaces) / valueStep;
    return replaced * Math.log(Math.min(0.999, Math.max((0.4 * width) / Math.max(0.4, spread), counted))) + choices;
  };
  if (logChanceAt(step) > enough) return undefined;
  const localStep = context.local().stepOver(samples, from, to, isReplaced);
  // Sound as smooth as that falls into step with a lattice by itself.
  if ((1.25 * offRoughness) / Math.max(1, offPlaces) < LEAST_LATTICE_SPREAD * localStep) return undefined;
  return {
    from: first,
    to: last + 1,
    period,
    pattern: Array.from({ length: period }, (_, k) => (isOn[(first - from + k) % period] ? 'x' : '.')).join(''),
    replaced,
    misses,
    logChance: logChanceAt(localStep),
    rounding: name,
  };
}

const HOLD_ROUNDING = { name: 'previous sample', width: 1 };

/** An unbroken row. Sound is smooth in places, so the chance of each sample is that of a linear prediction from the
 * samples before it, with the spread the prediction has nearby, chosen within its local range to favour chance. */
function judgeLine(
  { samples, step: finest }: Stretch,
  rule: HitRule,
  whole: Row,
  context: Context,
  enough: number,
): Judgement | undefined {
  const { row, name, width, choices } = rule.kind === 'held' ? heldRow(whole) : lineIn(samples, whole, finest);
  if (rule.kind !== 'held' && Math.abs(samples[row.to] - samples[row.from - 1]) <= finest) return undefined;
  const length = row.to - row.from;
  const floor = hitRate(context, width < rule.width);
  // The jump at the end of the row can add no more than one in the places looked at.
  if (length * Math.log(floor) - Math.log(context.places + 1) + choices > enough) return undefined;
  if (row.from < 2 || row.to > samples.length - 2) return undefined;
  const roughness = adjacentRoughness(samples, row, rule);
  const besideAt = (step: number) => Math.min(1, (0.4 * width) / Math.max(0.4, roughness / step));
  // No prediction makes a sample rarer than that, nor any step the recording's finest: so what is dear is done for few.
  const leastLogChance = (step: number) =>
    length * Math.log(Math.max(floor, besideAt(step))) - Math.log(samples.length) + choices;
  if (leastLogChance(finest) > enough) return undefined;
  const step = context.local().stepOver(samples, row.from, row.to);
  if (leastLogChance(step) > enough) return undefined;
  // The steps of a law are wide: two of them are a break.
  const edge = Math.max(finest, step / 2);
  if (!breaksOff(samples, whole, rule, edge)) return undefined;
  if (rule.kind === 'held' && isPlateau(samples, row.from, row.to, edge)) return undefined;
  const x = new Float64Array(samples.length);
  for (let i = 0; i < x.length; i++) x[i] = samples[i] / step;
  const left = x.subarray(0, row.from);
  const right = x.subarray(row.to);
  const predictor = fitPredictor([left, right], ORDER);
  if (!predictor || row.from <= ORDER) return undefined;
  const errors = predictionResidual(x, predictor, row.from, row.to);
  const rms = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
  const around = [left, right].map((side) =>
    predictionResidual(side, predictor, Math.min(ORDER, side.length), side.length),
  );
  const sigma = Math.max(0.3, quietestSpread(around), rms);
  const beside = besideAt(step);
  // The first hit is as likely as hits are hereabouts; every further one as likely as the prediction makes it after those before.
  let logChance = choices + Math.log(Math.min(1, Math.max(floor, beside)));
  for (const e of errors.subarray(1)) {
    const density = (width * Math.exp((-e * e) / (2 * sigma * sigma))) / (sigma * Math.sqrt(2 * Math.PI));
    logChance += Math.log(Math.min(1, Math.max(density, floor, beside)));
  }
  logChance += Math.log(releaseChance(x, row.to, predictor, around));
  return { ...row, period: 1, pattern: 'x', replaced: length, misses: 0, logChance, rounding: name };
}

/** After a concealed row the sound goes on where it really was: a jump against the prediction from the row. How often the
 * sound nearby jumps as far, counted, never below one in what was looked at. */
function releaseChance(x: Float64Array, at: number, predictor: Float64Array, around: readonly Float64Array[]): number {
  const jump = Math.abs(predictionResidual(x, predictor, at, at + 1)[0]);
  let asFar = 0;
  let places = 0;
  for (const residual of around) {
    places += residual.length;
    for (const e of residual) if (Math.abs(e) >= jump) asFar++;
  }
  return Math.min(1, (asFar + 1) / (places + 1));
}

/** Root mean square roughness right beside the row, on its calmer side: a natural bend is calm there too. */
function adjacentRoughness(samples: Int32Array, row: Row, rule: HitRule): number {
  const side = (from: number, to: number): number => {
    let sum = 0;
    for (let i = from; i < to; i++) sum += roughnessAt(samples, i, rule) ** 2;
    return to > from ? Math.sqrt(sum / (to - from)) : 0;
  };
  return Math.min(
    side(Math.max(1, row.from - ADJACENT), row.from),
    side(row.to, Math.min(samples.length - 1, row.to + ADJACENT)),
  );
}

/** A concealed row breaks off at an end; a smooth passage goes over into its surroundings. */
function breaksOff(samples: Int32Array, row: Row, rule: HitRule, step: number): boolean {
  const before = rule.kind === 'held' ? 0 : roughnessAt(samples, row.from - 1, rule);
  return Math.max(before, roughnessAt(samples, row.to, rule)) >= rule.leastBreak * step;
}

function roughnessAt(samples: Int32Array, i: number, rule: HitRule): number {
  return rule.roughness(samples.subarray(i - 1, i + 2), 1);
}

interface Row {
  readonly from: number;
  readonly to: number;
}

/** Of hits around the candidate; of exact ones where one rounding explains the row. */
function hitRate({ hits, exact, places }: HitCounts, isOneRounding: boolean): number {
  // Sound that is made of lines itself has them in every rounding.
  const isMadeOfLines = hits > MOST_HITS * places;
  return ((isOneRounding && !isMadeOfLines ? exact : hits) + 0.5) / (places + 1);
}

/** Unbroken rows in a candidate, but those whose chance cannot be small enough, or that break off at neither end. */
function rowsOf(sound: MarkedSound, { from, to, begin, end }: Place, around: HitCounts, enough: number): Row[] {
  const { marks, samples, rule, step } = sound;
  const rows: Row[] = [];
  const atMost = Math.log(hitRate(around, rule.kind !== 'held'));
  const rest = Math.log(around.places + 1);
  const isWorthIt = (row: Row) =>
    (row.to - row.from) * atMost - rest + Math.log(4) <= enough &&
    row.from >= begin + 2 &&
    row.to <= end - 2 &&
    breaksOff(samples, row, rule, step);
  for (let i = from; i < to; ) {
    let stop = i;
    while (stop < to && marks[stop]) stop++;
    if (stop - i >= 2 && isWorthIt({ from: i, to: stop })) rows.push({ from: i, to: stop });
    i = stop + 1;
  }
  return rows;
}

/** A flat top or bottom of the waveform nearby (give or take converter noise): clipping looks like holding. */
function isPlateau(samples: Int32Array, from: number, to: number, step: number): boolean {
  const value = samples[from];
  const tolerance = Math.max(8 * step, Math.abs(value) / 512);
  let above = 0;
  let below = 0;
  for (let i = 0; i < samples.length; i++) {
    if (i >= from - 1 && i < to) continue;
    if (samples[i] > value + tolerance) above++;
    else if (samples[i] < value - tolerance) below++;
  }
  return above === 0 || below === 0;
}

/** The quietest local residual level on either side: sound may have been that predictable inside the row too. */
function quietestSpread(around: readonly Float64Array[]): number {
  let quietest = Number.POSITIVE_INFINITY;
  for (const residual of around) {
    for (let at = 0; at + SUBWINDOW <= residual.length; at += SUBWINDOW) {
      let sum = 0;
      for (let i = at; i < at + SUBWINDOW; i++) sum += residual[i] * residual[i];
      quietest = Math.min(quietest, Math.sqrt(sum / SUBWINDOW));
    }
  }
  return Number.isFinite(quietest) ? quietest : 0;
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

interface RowRounding {
  readonly row: Row;
  readonly name: string;
  readonly width: number;
  /** logarithm of the number of ways to have come to it */
  readonly choices: number;
}

function heldRow(row: Row): RowRounding {
  return { row, ...HOLD_ROUNDING, choices: Math.log(4) };
}

/** The row, or the straight line in it that leaves the fewest samples at its ends to chance. */
function lineIn(samples: Int32Array, whole: Row, step: number): RowRounding {
  const ways = (MAY_BE_SOUND + 1) ** 2;
  for (let off = 0; off <= 2 * MAY_BE_SOUND; off++) {
    for (let front = Math.max(0, off - MAY_BE_SOUND); front <= Math.min(off, MAY_BE_SOUND); front++) {
      const row = { from: whole.from + front, to: whole.to - (off - front) };
      if (off > 0 && row.to - row.from < FEWEST_IN_LINE) break;
      const rounding = lineRounding(samples, row, step);
      if (rounding.width === 1) return { row, ...rounding, choices: Math.log(off === 0 ? 4 : 4 * ways) };
    }
  }
  return { row: whole, name: 'mixed', width: 3, choices: Math.log(4) };
}

const LINE_ROUNDINGS: readonly { readonly name: string; readonly round: (value: number) => number }[] = [
  { name: 'down', round: Math.floor },
  { name: 'nearest', round: Math.round },
  { name: 'up', round: Math.ceil },
  { name: 'toward zero', round: Math.trunc },
];

/** Whether the row is the straight line between its two neighbours in one rounding: then the neighbours leave one value
 * for each sample, not three. */
function lineRounding(samples: Int32Array, { from, to }: Row, step: number): { name: string; width: number } {
  const first = samples[from - 1] / step;
  const last = samples[to] / step;
  const gaps = to - from + 1;
  for (const { name, round } of LINE_ROUNDINGS) {
    let isLine = true;
    for (let i = from; isLine && i < to; i++) {
      isLine = Math.round(samples[i] / step) === round(first + ((last - first) * (i - from + 1)) / gaps);
    }
    if (isLine) return { name, width: 1 };
  }
  return { name: 'mixed', width: 3 };
}

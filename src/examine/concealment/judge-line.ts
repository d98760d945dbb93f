// The chance of an unbroken row: of each sample by a linear prediction from those before it, and of the jump where the row ends. Not for lattices (judge-lattice.ts).
import { fitPredictor, predictionResidual } from '../../signal/index.ts';
import type { HitRule } from './hits.ts';
import { type Context, HOLD_ROUNDING, type Judgement, type Place, type Row, type Stretch } from './judged-stretch.ts';
import type { HitCounts, MarkedSound } from './marked-sound.ts';
import { isRestLevel } from './rest-level.ts';
import { chanceToGoOn } from './run-lengths.ts';
import { cameToRest, glides, isStandstill, leastMoveBeside, standstillChance } from './standstill.ts';

const ORDER = 16;

const SUBWINDOW = 64;

/** Samples beside a row whose roughness bounds the chance of the row. */
const ADJACENT = 8;

const FEWEST_IN_LINE = 4;

/** Steps that a long row must lie away from zero. */
const LEAST_STANDING = 2;

/** Of a converter, in fine steps. */
const MOST_NOISE = 8;

/** Rests of that part of a row's length and longer are like it. */
const SHORTER_REST = 4;

/** Unbroken rows in a candidate, but those whose chance cannot be small enough, or that break off at neither end. */
export function rowsOf(sound: MarkedSound, { from, to, begin, end }: Place, around: HitCounts, enough: number): Row[] {
  const { marks, samples, rule, step } = sound;
  const rows: Row[] = [];
  const atMost = Math.log(hitRate(around, rule.kind !== 'held', rule));
  const rest = Math.log(around.places + 1);
  const edge = (row: Row) => edgeCost(samples, row, rule, step, around.places);
  const isRare = (row: Row) => (row.to - row.from) * atMost - rest + Math.log(4) + edge(row) <= enough;
  const isWorthIt = (row: Row) =>
    row.from >= begin + 2 && row.to <= end - 2 && (isRare(row) || (rule.kind === 'held' && isStandstill(sound, row)));
  for (let i = from; i < to; ) {
    let stop = i;
    while (stop < to && marks[stop]) stop++;
    if (stop - i >= 2 && isWorthIt({ from: i, to: stop })) rows.push({ from: i, to: stop });
    i = stop + 1;
  }
  return rows;
}

/** An unbroken row. Sound is smooth in places, so the chance of each sample is that of a linear prediction from the
 * samples before it, with the spread the prediction has nearby, chosen within its local range to favour chance. */
export function judgeLine(
  stretch: Stretch,
  rule: HitRule,
  whole: Row,
  context: Context,
  enough: number,
): Judgement | undefined {
  const { samples, step: finest } = stretch;
  if (rule.kind === 'held' && isStandstill(stretch, whole)) {
    const own = Math.max(context.local().stepAt(samples[whole.from]), leastMoveBeside(samples, whole));
    const step = glides(samples, whole, finest) ? Math.max(own, stretch.restStep) : own;
    const standing = { ...stretch, step };
    // Pauses rest near zero, with whatever offset their converter had.
    if (Math.abs(samples[whole.from]) < LEAST_STANDING * step) return undefined;
    const standstill = isStandstill(standing, whole) ? judgeStandstill(standing, whole) : undefined;
    if (standstill && standstill.logChance <= enough && !returnsTo(standing, whole)) return standstill;
  }
  if (context.isMonotonous) return undefined;
  if (rule.kind === 'held' && cameToRest(samples, whole, finest)) return undefined;
  const shortest = rule.kind === 'held' ? 0 : shortestLine(stretch, rule, whole, context, enough);
  const { row, name, width, choices } =
    rule.kind === 'held' ? heldRow(whole) : lineIn(samples, whole, finest, rule, shortest);
  if (rule.isOneRounding && width > 1) return undefined;
  const isFlat = Math.abs(samples[row.to] - samples[row.from - 1]) <= finest;
  if (rule.kind !== 'held' && !rule.isFlatTold && isFlat) return undefined;
  const length = row.to - row.from;
  if (row.from < 2 || row.to > samples.length - 2) return undefined;
  const roughness = adjacentRoughness(samples, row, rule);
  const besideAt = (step: number) => Math.min(1, (0.4 * width) / Math.max(0.4, roughness / step));
  const floor = hitRate(context, width < rule.width, rule, 0.5 / besideAt(finest));
  // The jump at the end of the row can add no more than one in the places looked at.
  if (length * Math.log(floor) - Math.log(context.places + 1) + choices > enough) return undefined;
  // No prediction makes a sample rarer than that, nor any step the recording's finest: so what is dear is done for few.
  const leastLogChance = (step: number) =>
    length * Math.log(Math.max(floor, besideAt(step))) - Math.log(samples.length) + choices;
  if (leastLogChance(finest) > enough) return undefined;
  const step = context.local().stepOver(samples, row.from, row.to);
  if (leastLogChance(step) > enough) return undefined;
  // The steps of a law are wide: two of them are a break.
  const edge = Math.max(finest, step / 2);
  const goesOver = edgeCost(samples, whole, rule, edge, context.places);
  if (goesOver === Number.POSITIVE_INFINITY) return undefined;
  if ((rule.kind === 'held' || isFlat) && isPlateau(samples, row.from, row.to, MOST_NOISE * edge)) return undefined;
  // Samples held by chance lie at the turns of the sound, and say nothing of a hold on a slope; nor do flat ones of a line.
  const isToldByRows = rule.kind !== 'held' && !rule.isFlatTold;
  const goesOn = isToldByRows ? chanceToGoOn(stretch.marks, whole) * shareOfRounding(context, width, rule) : 0;
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
  let logChance = choices + goesOver + Math.log(Math.min(1, Math.max(floor, beside)));
  for (const e of errors.subarray(1)) {
    const density = (width * Math.exp((-e * e) / (2 * sigma * sigma))) / (sigma * Math.sqrt(2 * Math.PI));
    logChance += Math.log(Math.min(1, Math.max(density, floor, beside, goesOn)));
  }
  logChance += Math.log(releaseChance(x, row.to, predictor, around));
  if ((rule.kind === 'held' || isFlat) && logChance <= enough && isRestLevel(samples, samples[row.from]))
    return undefined;
  return { ...row, period: 1, pattern: 'x', replaced: length, misses: 0, besideShare: 0, logChance, rounding: name };
}

/** A row so long that the sound beside it, however soft, would not stand still for it. */
function judgeStandstill(stretch: Stretch, row: Row): Judgement {
  const replaced = row.to - row.from;
  const logChance = Math.log(4) + standstillChance(stretch, row);
  return {
    ...row,
    period: 1,
    pattern: 'x',
    replaced,
    misses: 0,
    besideShare: 0,
    logChance,
    rounding: HOLD_ROUNDING.name,
  };
}

/** Of hits around the candidate; of exact ones where one rounding explains the row. Half a hit more than were counted, in so many
 * places more: where hits are too rare to be counted around, the roughness beside the row says in how many one would come. */
function hitRate(
  { hits, exact, places }: HitCounts,
  isOneRounding: boolean,
  { mostHits }: HitRule,
  morePlaces = 1,
): number {
  const isMadeOfLines = hits > mostHits * places;
  return ((isOneRounding && !isMadeOfLines ? exact : hits) + 0.5) / (places + Math.max(1, morePlaces));
}

/** Of the values that are a hit, those that one rounding leaves: more where the sound around lies exactly midway more often. */
function shareOfRounding({ hits, exact }: HitCounts, width: number, rule: HitRule): number {
  return width === rule.width ? 1 : Math.max(width / rule.width, exact / Math.max(1, hits));
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

/** What a row must be rarer by (logarithm) where it breaks off at neither end; where that cannot make up for it, infinite. */
function edgeCost(samples: Int32Array, row: Row, rule: HitRule, step: number, places: number): number {
  if (breaksOff(samples, row, rule, step)) return 0;
  return rule.mayGoOver ? Math.log(places + 1) : Number.POSITIVE_INFINITY;
}

function roughnessAt(x: Int32Array, i: number, rule: HitRule): number {
  return Math.abs(rule.deviation(x, i));
}

/** Whether sound comes to the level of a long row by itself. Shorter rests there prove nothing: wide steps make them by chance, at every
 * level; nor is converter noise more than two of such steps. */
function returnsTo({ samples, step }: Stretch, { from, to }: Row): boolean {
  const noise = Math.max(MOST_NOISE, 2 * step);
  return isPlateau(samples, from, to, noise) || isRestLevel(samples, samples[from], (to - from) / SHORTER_REST);
}

/** A flat top or bottom of the waveform nearby, give or take converter noise: clipping looks like holding. */
function isPlateau(samples: Int32Array, from: number, to: number, noise: number): boolean {
  const value = samples[from];
  const tolerance = Math.max(noise, Math.abs(value) / 512);
  if (leapsAway(samples, from, to)) return false;
  let above = 0;
  let below = 0;
  for (let i = 0; i < samples.length; i++) {
    if (i >= from - 1 && i < to) continue;
    if (samples[i] > value + tolerance) above++;
    else if (samples[i] < value - tolerance) below++;
  }
  return above === 0 || below === 0;
}

/** The sound never moves half as far elsewhere: it leaves a clipped top at its own speed. */
function leapsAway(samples: Int32Array, from: number, to: number): boolean {
  const half = Math.abs(samples[to] - samples[to - 1]) / 2;
  for (let i = 1; i < samples.length; i++) {
    if ((i < from || i > to) && Math.abs(samples[i] - samples[i - 1]) >= half) return false;
  }
  return true;
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

/** Samples of the shortest line in the row that may be rare enough: by the lowest rate of hits that it may be held against. */
function shortestLine(
  { samples, step }: Stretch,
  rule: HitRule,
  { from, to }: Row,
  context: Context,
  enough: number,
): number {
  let roughest = step;
  const end = Math.min(samples.length - 1, to + ADJACENT);
  for (let i = Math.max(1, from - ADJACENT); i < end; i++) roughest = Math.max(roughest, roughnessAt(samples, i, rule));
  const rate = (context.exact + 0.5) / (context.places + (1.25 * roughest) / step);
  return Math.max(FEWEST_IN_LINE, Math.ceil((enough + Math.log(context.places + 1)) / Math.log(rate)));
}

/** The row, or the straight line in it that leaves the fewest samples at its ends to chance. */
function lineIn(
  samples: Int32Array,
  whole: Row,
  step: number,
  { mayBeSound, choicesOfCut }: HitRule,
  shortest: number,
): RowRounding {
  for (let off = 0; off <= 2 * mayBeSound; off++) {
    for (let front = Math.max(0, off - mayBeSound); front <= Math.min(off, mayBeSound); front++) {
      const row = { from: whole.from + front, to: whole.to - (off - front) };
      if (off > 0 && row.to - row.from < shortest) break;
      const rounding = lineRounding(samples, row, step);
      if (rounding.width === 1) return { row, ...rounding, choices: Math.log(4) + choicesOfCut(off) };
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

const MIXED = { name: 'mixed', width: 3 } as const;

/** Whether the row is the straight line between its two neighbours in one rounding: then the neighbours leave one value
 * for each sample, not three. */
function lineRounding(samples: Int32Array, { from, to }: Row, step: number): { name: string; width: number } {
  const first = samples[from - 1] / step;
  const last = samples[to] / step;
  const gaps = to - from + 1;
  // Next to all rows leave any line half way: no rounding moves a sample by more than a step.
  const half = from + ((to - from) >> 1);
  const beside = samples[half] / step - first - ((last - first) * (half - from + 1)) / gaps;
  if (beside > 1.5 || beside < -1.5) return MIXED;
  for (const { name, round } of LINE_ROUNDINGS) {
    let isLine = true;
    for (let i = from; isLine && i < to; i++) {
      isLine = Math.round(samples[i] / step) === round(first + ((last - first) * (i - from + 1)) / gaps);
    }
    if (isLine) return { name, width: 1 };
  }
  return MIXED;
}

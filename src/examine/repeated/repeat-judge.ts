// Second look at one repeat: whether it is a copy put where it does not belong, or sound that repeats by itself. Pure; the
// caller cuts the context. A copy breaks off from what is before it where its source did not; in sound like noise nothing
// breaks off, and a copy is told by standing alone: once, out of the middle of steady sound, beginning and ending at once.
import { fitPredictor, predictionResidual } from '../../signal/index.ts';
import { overstatement } from './coincidence.ts';
import { surprises } from './repeat-chance.ts';

export interface RepeatStretch {
  readonly samples: Int32Array;
  /** index of the first copied sample and behind the last one */
  readonly from: number;
  readonly to: number;
  readonly lag: number;
  readonly step: number;
}

export interface RepeatJudgement {
  /** natural logarithm of the probability of these equal samples at one given place and lag, and of its joints where both break off */
  readonly logChance: number;
  /** the copy breaks off from the sound before it, and its source did not */
  readonly breaksIn: boolean;
  /** the sound after the copy does not continue it: something was written over */
  readonly breaksOut: boolean;
  /** the sound after the copy continues it, and it is as long as its lag: something was put in */
  readonly isInserted: boolean;
  /** a single copy from the middle of steady sound, equal from one sample to the next and as suddenly unequal */
  readonly standsAlone: boolean;
  /** residual of a linear prediction at the joints, in quantising steps, and its usual size around */
  readonly jumpIn: number;
  readonly jumpOut: number;
  readonly usual: number;
}

const ORDER = 16;
const NEAR = 1024;
const LEAST_NEAR = 256;
/** Pieces that nothing but the source may show: at least so many samples, so surprising by themselves (nats), and this share of the whole. */
const PIECE = 12;
const PIECE_SURPRISE = 30;
const PIECE_SHARE = 0.25;
/** Residuals this many times their usual size break off. */
const BREAK = 8;
/** … and at most this share of the residuals around is as large: the chance of a joint that breaks off by itself. */
const RARE = 0.005;
/** Share of equal samples at this lag beside the copy, beyond what so few values give at any lag, from which on the sound repeats by itself. */
const MOST_ALIKE = 0.5;
/** What stands alone and has edges must be this unlikely by itself (natural logarithm; drum kits have pulses that recur with -66) … */
const ALONE = -70;
/** … if it breaks off at neither end, and needs no edges from here on: nothing of the kind was met in hours of undamaged sound, at any level … */
const BEYOND_DOUBT = -100;
/** … or from here on, if it breaks off at one … */
const ALONE_BROKEN = -40;
/** … with at most this share of equal samples beside it … */
const FEW_ALIKE = 0.25;
/** … in sound whose residual changes by less than this factor where its source begins and ends, over few samples or over many. */
const STEADY = 3;
const STEADY_OVER = [64, 256] as const;
/** Differences at that lag right beside the copy, against those farther off: a difference that fades is no edge. */
const EDGE = 8;
const EDGE_SHARE = 0.1;
/** … and so many steps at least: near-equal sound shows none or one. */
const EDGE_STEPS = 1.5;
/** A joint may look one or two samples late: the first copied samples may fit by chance; in a whisper as many as cost this little (nats). */
const JOINT = 3;
const FITS_BY_CHANCE = 7;
/** Samples around the source that tell how far apart values lie. */
const NEAR_SOURCE = 256;

/** Undefined where the sound repeats by itself at that lag, or is more likely by chance than `enough` (natural logarithm, see `logChance`). */
export function judgeRepeat(stretch: RepeatStretch, enough: number): RepeatJudgement | undefined {
  const { samples, from, to, lag, step } = stretch;
  const { share, excess } = alikeBeside(stretch);
  // What costs most comes last: tones and loops have thousands of such runs.
  if (excess > MOST_ALIKE || (to - from) * Math.log(share) > enough) return undefined;
  const x = inSteps(samples, step);
  const left = x.subarray(Math.max(0, from - NEAR), from);
  const right = x.subarray(to, Math.min(x.length, to + NEAR));
  // The source is the copy without its joints.
  const source = { from: Math.max(ORDER, from - lag), to: to - lag };
  const predictor = fitPredictor([left, x.subarray(source.from, source.to), right], ORDER);
  if (!predictor || source.from >= source.to) return undefined;
  const residual = predictionResidual(x, predictor, source.from, source.to);
  const costs = surprises(samples, source.from, residual, { step, leastChance: share, near: NEAR_SOURCE });
  const ofSamples = -sumOf(costs);
  if (ofSamples + 2 * Math.log(RARE) > enough || isFoundElsewhere(stretch, costs)) return undefined;
  const judgement = judgeJoints(stretch, x, predictor, ofSamples, excess);
  if (judgement.logChance > enough) return undefined;
  // What costs most of all: only where it decides.
  if (!isClear(judgement)) return judgement;
  const factor = overstatement(samples, { copy: source.from + lag, end: to, lag }, costs);
  if (factor === 1) return judgement;
  const corrected = judgeJoints(stretch, x, predictor, ofSamples / factor, excess);
  return corrected.logChance > enough ? undefined : corrected;
}

/** Told by itself, whatever other channels show. */
export function isClear({ isInserted, breaksIn, breaksOut, standsAlone }: RepeatJudgement): boolean {
  return isInserted || standsAlone || (breaksIn && breaksOut);
}

function judgeJoints(
  stretch: RepeatStretch,
  x: Float64Array,
  predictor: Float64Array,
  ofSamples: number,
  excess: number,
): RepeatJudgement {
  const { from, to, lag } = stretch;
  const sizes = sizesAround(x, from, to, predictor);
  const usual = Math.max(0.3, sizes[sizes.length >> 1] / 0.6745);
  const jumpAt = (index: number) =>
    index < ORDER || index >= x.length
      ? 0
      : largest(predictionResidual(x, predictor, index, Math.min(x.length, index + JOINT)));
  const jumpIn = jumpAt(from);
  const jumpOut = jumpAt(to);
  const isBreak = (jump: number) => jump >= BREAK * usual && shareAbove(sizes, jump) <= RARE;
  const isAfter = isAfterCopy(stretch);
  const breaksIn = isBreak(jumpIn) && (isAfter || jumpIn >= 2 * jumpAt(from - lag));
  const breaksOut = isBreak(jumpOut);
  const joints = (breaksIn ? 1 : 0) + (breaksOut ? 1 : 0);
  const more = to - from - lag;
  const fits = (more * -ofSamples) / (to - from) < FITS_BY_CHANCE;
  const isWhole = more > -JOINT && (more < JOINT || fits);
  const isSteadyAt = (index: number) => STEADY_OVER.some((over) => isSteady(x, predictor, index, over));
  return {
    // One that breaks off alone is no more than the end of some sound.
    logChance: joints === 2 ? ofSamples + 2 * Math.log(RARE) : ofSamples,
    breaksIn,
    breaksOut,
    standsAlone:
      excess <= FEW_ALIKE &&
      (more < 0 || isWhole) &&
      (isAfter || isSteadyAt(from - lag)) &&
      // Where the copy is as long as its lag, its source ends at the copy's own joint.
      (isWhole || isSteadyAt(to - lag)) &&
      (ofSamples <= (joints > 0 ? ALONE_BROKEN : BEYOND_DOUBT) ||
        ((joints > 0 || ofSamples <= ALONE) && hasEdges(stretch))),
    isInserted: breaksIn && !breaksOut && isWhole,
    jumpIn,
    jumpOut,
    usual,
  };
}

/** Loops, as Float64Array.from with a function takes far longer than all the rest. */
function inSteps(samples: Int32Array, step: number): Float64Array {
  const x = new Float64Array(samples.length);
  for (let i = 0; i < x.length; i++) x[i] = samples[i] / step;
  return x;
}

/** Sizes of what the prediction misses before and behind the copy, ascending. */
function sizesAround(x: Float64Array, from: number, to: number, predictor: Float64Array): Float64Array {
  const begin = Math.max(0, from - NEAR) + ORDER;
  const end = Math.min(x.length, to + NEAR);
  const left = begin < from ? predictionResidual(x, predictor, begin, from) : new Float64Array(0);
  const right = to + ORDER < end ? predictionResidual(x, predictor, to + ORDER, end) : new Float64Array(0);
  const sizes = new Float64Array(left.length + right.length);
  for (let i = 0; i < left.length; i++) sizes[i] = Math.abs(left[i]);
  for (let i = 0; i < right.length; i++) sizes[left.length + i] = Math.abs(right[i]);
  return sizes.sort();
}

/** Whether pieces of the copy stand in its surroundings at yet another place: sound made of repetition. */
function isFoundElsewhere({ samples, from, to, lag }: RepeatStretch, costs: Float64Array): boolean {
  const whole = sumOf(costs);
  const wanted = Math.min(whole, Math.max(PIECE_SURPRISE, PIECE_SHARE * whole));
  const first = to - from - costs.length;
  for (const part of [0, 0.5, 1]) {
    const begin = Math.max(0, Math.min(indexAt(costs, 0, part * (whole - wanted)), costs.length - PIECE));
    const end = Math.min(costs.length, Math.max(begin + PIECE, indexAt(costs, begin, wanted)));
    if (isElsewhere(samples, from + first + begin, end - begin, lag)) return true;
  }
  return false;
}

/** The index before which the sum from `begin` on reaches `wanted`. */
function indexAt(costs: Float64Array, begin: number, wanted: number): number {
  let [sum, i] = [0, begin];
  while (i < costs.length && sum < wanted) sum += costs[i++];
  return i;
}

function isElsewhere(samples: Int32Array, piece: number, length: number, lag: number): boolean {
  for (let i = 0; i + length <= samples.length; i++) {
    if (samples[i] === samples[piece] && (piece - i) % lag !== 0 && isEqual(samples, piece, i, length)) return true;
  }
  return false;
}

function isEqual(samples: Int32Array, a: number, b: number, length: number): boolean {
  for (let k = 0; k < length; k++) if (samples[a + k] !== samples[b + k]) return false;
  return true;
}

/**
 * Share of samples equal at this lag right before and right after the copy, and how far it lies beyond what the values there give at any lag (0 = not
 * at all, 1 = all are equal). Common zeros prove nothing either way.
 */
function alikeBeside({ samples, from, to, lag }: RepeatStretch): { readonly share: number; readonly excess: number } {
  const times = new Map<number, number>();
  let [alike, places, all] = [0, 0, 0];
  const count = (begin: number, end: number) => {
    for (let i = begin; i < end; i++) {
      all++;
      times.set(samples[i], (times.get(samples[i]) ?? 0) + 1);
      if (samples[i] === 0 && samples[i - lag] === 0) continue;
      places++;
      if (samples[i] === samples[i - lag]) alike++;
    }
  };
  // No farther than half a lag: there the next copy of a row of them may begin.
  const near = Math.min(NEAR, Math.max(LEAST_NEAR, lag >> 1));
  count(Math.max(lag, from - near), from);
  count(to, Math.min(samples.length, to + near));
  const share = (alike + 0.5) / (places + 1);
  const byChance = equalByChance(times, all);
  return { share, excess: (share - byChance) / (1 - byChance) };
}

/** Chance that two of these values are equal and not both zero, of all pairs that are not both zero. */
function equalByChance(times: ReadonlyMap<number, number>, all: number): number {
  let sum = 0;
  for (const [value, count] of times) if (value !== 0) sum += count ** 2;
  return (sum + 0.5) / (all ** 2 - (times.get(0) ?? 0) ** 2 + 1);
}

/** A deck that has lost a head plays every other block twice: the source begins where the copy before it ends, at a joint. */
function isAfterCopy({ samples, from, lag }: RepeatStretch): boolean {
  const end = from - lag;
  return end - PIECE - lag >= 0 && isEqual(samples, end - PIECE, end - PIECE - lag, PIECE);
}

/** The same liveliness on both sides of a place, give or take a joint: neither an attack nor the end of a sound. */
function isSteady(x: Float64Array, predictor: Float64Array, index: number, over: number): boolean {
  const past = index + ORDER + JOINT;
  if (index < over + ORDER || past + over > x.length) return false;
  const before = rms(predictionResidual(x, predictor, index - over, index));
  const after = rms(predictionResidual(x, predictor, past, past + over));
  return Math.max(before, after) < STEADY * Math.min(before, after);
}

/** Whether the difference at this lag sets in and ends at once, not by fading. */
function hasEdges({ samples, from, to, lag, step }: RepeatStretch): boolean {
  const difference = (begin: number, end: number) => {
    let sum = 0;
    for (let i = begin; i < end; i++) sum += Math.abs(samples[i] - samples[i - lag]);
    return sum / (end - begin);
  };
  const far = 32 * EDGE;
  if (from - far < lag || to + far > samples.length) return false;
  const enough = (near: number, wide: number) => near >= Math.max(EDGE_STEPS * step, EDGE_SHARE * wide);
  return (
    enough(difference(from - EDGE, from), difference(from - far, from)) &&
    enough(difference(to, to + EDGE), difference(to, to + far))
  );
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum;
}

function rms(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value * value;
  return Math.sqrt(sum / Math.max(1, values.length));
}

function largest(values: Float64Array): number {
  let most = 0;
  for (const value of values) most = Math.max(most, Math.abs(value));
  return most;
}

function shareAbove(sorted: Float64Array, size: number): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] < size) low = middle + 1;
    else high = middle;
  }
  return sorted.length ? (sorted.length - low) / sorted.length : 1;
}

// Second look at one repeat: whether it is a copy put where it does not belong, or sound that repeats by itself. Pure; the
// caller cuts the context. A copy breaks off from what is before it where its source did not; in sound like noise nothing
// breaks off, and a copy is told by standing alone: once, out of the middle of steady sound, beginning and ending at once.
import { fitPredictor, predictionResidual } from '../../signal/index.ts';

export interface RepeatStretch {
  readonly samples: Int32Array;
  /** index of the first copied sample and behind the last one */
  readonly from: number;
  readonly to: number;
  readonly lag: number;
  readonly step: number;
}

export interface RepeatJudgement {
  /** natural logarithm of the probability of these equal samples at one given place and lag */
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
/** Samples in a row that nothing but the source may show: at least so many, and so many that chance shows them once in a thousand. */
const PIECE = 12;
const PIECE_CHANCE = Math.log(0.001 / 4096);
const SUBWINDOW = 64;
/** Different values in a copy, or a quarter of its length when it is short: fewer are a made waveform or the lowest bits. */
const FEWEST_VALUES = 6;
/** Residuals this many times their usual size break off. */
const BREAK = 8;
/** … and at most this share of the residuals around is as large. */
const RARE = 0.005;
/** Share of equal samples at this lag beside the copy beyond which the sound repeats by itself. */
const MOST_ALIKE = 0.5;
/** What stands alone must be this unlikely by itself (natural logarithm), or less so where it breaks off at one end … */
const ALONE = -60;
const ALONE_BROKEN = -40;
/** … with at most this share of equal samples beside it … */
const FEW_ALIKE = 0.25;
/** … in sound whose residual changes by less than this factor where its source begins and ends. */
const STEADY = 3;
/** Differences at that lag right beside the copy, against those farther off: a difference that fades is no edge. */
const EDGE = 8;
const EDGE_SHARE = 0.1;
/** … and so many steps at least: near-equal sound shows none or one. */
const EDGE_STEPS = 1.5;
/** A joint may look one or two samples late: the first copied samples may fit by chance. */
const JOINT = 3;

/**
 * Undefined where the sound repeats by itself at that lag, shows too few values to tell, or is more likely by chance than `enough` (natural
 * logarithm, see `logChance`).
 */
export function judgeRepeat(stretch: RepeatStretch, enough: number): RepeatJudgement | undefined {
  const { samples, from, to, lag, step } = stretch;
  if (!isVaried(samples, from, to)) return undefined;
  const share = shareAlike(stretch);
  // What costs most comes last: tones and loops have thousands of such runs.
  if (share > MOST_ALIKE || (to - from) * Math.log(share) > enough || isFoundElsewhere(stretch, share))
    return undefined;
  const x = inSteps(samples, step);
  const left = x.subarray(Math.max(0, from - NEAR), from);
  const right = x.subarray(to, Math.min(x.length, to + NEAR));
  // The source is the copy without its joints.
  const source = { from: Math.max(ORDER, from - lag), to: to - lag };
  const predictor = fitPredictor([left, x.subarray(source.from, source.to), right], ORDER);
  if (!predictor || source.from >= source.to) return undefined;
  const logChance = chanceOf(predictionResidual(x, predictor, source.from, source.to), share);
  if (logChance > enough) return undefined;
  const around = [residualOf(left, predictor), residualOf(right, predictor)];
  const sizes = magnitudes(around).sort();
  const usual = Math.max(0.3, sizes[sizes.length >> 1] / 0.6745);
  const jumpAt = (index: number) =>
    index < ORDER || index >= x.length
      ? 0
      : largest(predictionResidual(x, predictor, index, Math.min(x.length, index + JOINT)));
  const jumpIn = jumpAt(from);
  const jumpOut = jumpAt(to);
  const isBreak = (jump: number) => jump >= BREAK * usual && shareAbove(sizes, jump) <= RARE;
  const breaksIn = isBreak(jumpIn) && (isAfterCopy(stretch) || jumpIn >= 2 * jumpAt(from - lag));
  const breaksOut = isBreak(jumpOut);
  const isSteadyAt = (index: number) => isSteady(x, predictor, index);
  return {
    logChance,
    breaksIn,
    breaksOut,
    standsAlone:
      logChance <= (breaksIn || breaksOut ? ALONE_BROKEN : ALONE) &&
      share <= FEW_ALIKE &&
      to - from - lag < JOINT &&
      isSteadyAt(from - lag) &&
      isSteadyAt(to - lag) &&
      (breaksIn || breaksOut || hasEdges(stretch)),
    isInserted: breaksIn && !breaksOut && Math.abs(to - from - lag) < JOINT,
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

function magnitudes([a, b]: readonly Float64Array[]): Float64Array {
  const sizes = new Float64Array(a.length + b.length);
  for (let i = 0; i < a.length; i++) sizes[i] = Math.abs(a[i]);
  for (let i = 0; i < b.length; i++) sizes[a.length + i] = Math.abs(b[i]);
  return sizes;
}

function isVaried(samples: Int32Array, from: number, to: number): boolean {
  const wanted = Math.min(FEWEST_VALUES, Math.ceil((to - from) / 4));
  const values = new Set<number>();
  for (let i = from; i < to && values.size < wanted; i++) values.add(samples[i]);
  return values.size >= wanted;
}

/** Whether pieces of the copy stand in its surroundings at yet another place: sound made of repetition. */
function isFoundElsewhere({ samples, from, to, lag }: RepeatStretch, chanceOfOne: number): boolean {
  const length = Math.min(Math.max(PIECE, Math.ceil(PIECE_CHANCE / Math.log(chanceOfOne))), to - from);
  for (const piece of [from, (from + to - length) >> 1, to - length]) {
    for (let i = 0; i + length <= samples.length; i++) {
      if (samples[i] === samples[piece] && (piece - i) % lag !== 0 && isEqual(samples, piece, i, length)) return true;
    }
  }
  return false;
}

function isEqual(samples: Int32Array, a: number, b: number, length: number): boolean {
  for (let k = 0; k < length; k++) if (samples[a + k] !== samples[b + k]) return false;
  return true;
}

/** Share of samples equal at this lag right before and right after the copy; common zeros prove nothing either way. */
function shareAlike({ samples, from, to, lag }: RepeatStretch): number {
  let alike = 0;
  let places = 0;
  const count = (begin: number, end: number) => {
    for (let i = begin; i < end; i++) {
      if (samples[i] === 0 && samples[i - lag] === 0) continue;
      places++;
      if (samples[i] === samples[i - lag]) alike++;
    }
  };
  // No farther than half a lag: there the next copy of a row of them may begin.
  const near = Math.min(NEAR, Math.max(LEAST_NEAR, lag >> 1));
  count(Math.max(lag, from - near), from);
  count(to, Math.min(samples.length, to + near));
  return (alike + 0.5) / (places + 1);
}

/** A deck that has lost a head plays every other block twice: the source begins where the copy before it ends, at a joint. */
function isAfterCopy({ samples, from, lag }: RepeatStretch): boolean {
  const end = from - lag;
  return end - PIECE - lag >= 0 && isEqual(samples, end - PIECE, end - PIECE - lag, PIECE);
}

/** The same liveliness on both sides of a place, give or take a joint: neither an attack nor the end of a sound. */
function isSteady(x: Float64Array, predictor: Float64Array, index: number): boolean {
  const past = index + ORDER + JOINT;
  if (index < SUBWINDOW + ORDER || past + SUBWINDOW > x.length) return false;
  const before = rms(predictionResidual(x, predictor, index - SUBWINDOW, index));
  const after = rms(predictionResidual(x, predictor, past, past + SUBWINDOW));
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

function residualOf(side: Float64Array, predictor: Float64Array): Float64Array {
  return side.length > ORDER ? predictionResidual(side, predictor, ORDER, side.length) : new Float64Array(0);
}

/** Natural logarithm of the chance that such samples come twice, by what a prediction misses in them piece by piece: each piece as lively as
 * its median says, which a few jumps between flat stretches do not raise. */
function chanceOf(residual: Float64Array, share: number): number {
  let sum = 0;
  for (let at = 0; at < residual.length; at += SUBWINDOW) {
    const sizes = residual
      .slice(at, at + SUBWINDOW)
      .map(Math.abs)
      .sort();
    const spread = sizes[sizes.length >> 1] / 0.6745;
    sum += sizes.length * Math.log(Math.min(0.95, Math.max(share, 0.4 / Math.max(0.4, spread))));
  }
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

// Second look at one joint: whether one to three samples stand out of sound that goes on without them, and how often the sound
// around brings forth as much by itself, seen by a prediction from both sides. Pure.
import type { Span } from '../../base/index.ts';
import { predictionResidual } from '../../signal/index.ts';
import { type JointModel, modelJoint } from './joint-model.ts';
import { chanceOfSize } from './size-tail.ts';

export const WIDEST = 3;
/** Mean residual with the samples bridged, in powers of the residuals around: the sound goes on as if they were not there. Over some
 * forty residuals it is 1 within a quarter; corners of waveforms, onsets and cuts stay above. */
const BELONGS = 1.8;
/** … and with the samples left in. The scan asks for eight times the largest around, which is some three of the usual size: one such among those forty. */
const STANDS_OUT = 24 ** 2 / 40;
/** Their size against the largest of so many samples nearby: pulses that come again are the sound. */
const BEYOND_NEIGHBOURS = 3;
/** Frames on both sides whose sizes tell what comes by chance. */
const NEARBY = 512;
/** Sizes below half a step are rounding. */
const LEAST_SIZE = 0.5;
const FLAT = 3;
/** Frames beside the joint in which rows of equal samples are usual or not. */
const FLAT_REACH = 256;
const FLAT_APART = 12;

/** Positions are indices of the samples given. */
export interface OutlyingSamples extends Span {
  /** largest difference to the bridged sound, in quantising steps */
  readonly heightSteps: number;
  /** mean residual energy as it is, and with the samples bridged; the sound around is 1 */
  readonly misfit: number;
  readonly misfitWithout: number;
  /** that the sound around brings forth as much at one place by itself */
  readonly chance: number;
}

export function judgeClick(samples: Int32Array, at: number, step: number): OutlyingSamples | undefined {
  // Few different values make a quiet sound, no other one: what is asked of it is asked in steps.
  const model = modelJoint(samples, at, step, WIDEST, 1);
  if (!model) return undefined;
  const nearby = nearbyOf(model, at);
  for (let width = 1; width <= WIDEST; width++) {
    const best = bestOfWidth(model, nearby, at, width);
    if (best.misfitWithout > BELONGS) continue;
    if (best.misfit < STANDS_OUT || isEstimated(model.x, best) || isFlat(model.x, best)) return undefined;
    if (belongsToOneSide(model, best)) return undefined;
    const chance = chanceOf(model, nearby, best);
    return chance === undefined ? undefined : { ...best, chance };
  }
  return undefined;
}

/** Residuals around a joint from index `from` on, and what they ask of each sample. */
interface Nearby {
  readonly from: number;
  readonly residuals: Float64Array;
  /** of each sample the sum of the residuals it has a part in, weighted by that part */
  readonly pulls: Float64Array;
}

function nearbyOf({ x, predictor }: JointModel, at: number): Nearby {
  const order = predictor.length;
  const from = Math.max(order, at - NEARBY);
  const residuals = predictionResidual(x, predictor, from, Math.min(x.length, at + NEARBY));
  // Backwards over the residuals, the same prediction gives the weighted sums.
  const backwards = residuals.toReversed();
  return { from, residuals, pulls: predictionResidual(backwards, predictor, order, backwards.length).reverse() };
}

type Bridged = Omit<OutlyingSamples, 'chance'>;

function bestOfWidth(model: JointModel, { from, residuals, pulls }: Nearby, at: number, width: number): Bridged {
  const { bridges, power } = model;
  // All residuals that any of the samples in question has a part in.
  const own = residuals.subarray(at - WIDEST - 1 - from, at + WIDEST + 1 + bridges.order - from);
  const energy = own.reduce((sum, e) => sum + e * e, 0);
  let [start, gain] = [at, -1];
  for (let place = at - width; place <= at + 1; place++) {
    const gained = bridges.gain(pulls, place - from, width);
    if (gained > gain) [start, gain] = [place, gained];
  }
  const { heights } = bridges.excess(pulls, start - from, width);
  const height = heights.reduce((most, h) => (Math.abs(h) > Math.abs(most) ? h : most));
  const misfit = energy / own.length / power;
  // Rounding errors of the sums, where what is left is nothing against what goes.
  const misfitWithout = Math.max(0, energy - gain) / own.length / power;
  return { start, length: width, heightSteps: Math.round(height), misfit, misfitWithout };
}

/** One side alone leads to the samples, though they are as far off the bridge as no usual residual is: the sound breaks off between them and the other side,
 * as at a cut, and nothing stands out. */
function belongsToOneSide({ x, predictor, power }: JointModel, { start, length, heightSteps }: Bridged): boolean {
  if (heightSteps ** 2 < STANDS_OUT * power) return false;
  const backwards = x.subarray(start, start + length + predictor.length).toReversed();
  const sides = [
    predictionResidual(x, predictor, start, start + length),
    predictionResidual(backwards, predictor, predictor.length, backwards.length),
  ];
  return sides.some((side) => side.reduce((sum, e) => sum + e * e, 0) <= BELONGS * power * length);
}

/** Samples that repeat the one before them, or lie on the line between their neighbours: a deck's estimate, no click. */
function isEstimated(x: Float64Array, { start, length }: Span): boolean {
  const [before, after] = [x[start - 1], x[start + length]];
  let [held, drawn] = [true, true];
  for (let k = 0; k < length; k++) {
    if (x[start + k] !== before) held = false;
    if (Math.abs(x[start + k] - before - ((after - before) * (k + 1)) / (length + 1)) > 1) drawn = false;
  }
  return held || drawn;
}

/** The samples are part of a row of equal ones, as in a mute, a hold or a flat top, where such rows are not usual on both sides. */
function isFlat(x: Float64Array, { start, length }: Span): boolean {
  if (!hasRow(x, start + 1 - FLAT, start + length + FLAT - 1)) return false;
  const end = start + length;
  return !(hasRow(x, start - FLAT_REACH, start - FLAT_APART) && hasRow(x, end + FLAT_APART, end + FLAT_REACH));
}

function hasRow(x: Float64Array, from: number, to: number): boolean {
  let row = 1;
  for (let i = from + 1; i < to; i++) {
    row = x[i] === x[i - 1] ? row + 1 : 1;
    if (row >= FLAT) return true;
  }
  return false;
}

/** Undefined where as many samples nearby stand out as well. */
function chanceOf({ bridges }: JointModel, { from, pulls }: Nearby, { start, length }: Span): number | undefined {
  const sizeAt = (n: number) => Math.sqrt(Math.max(0, bridges.gain(pulls, n, length)) / bridges.gainOfOne / length);
  const sizes: number[] = [];
  for (let n = 0; n + length <= pulls.length; n++) {
    // Further away the samples in question have no part in it.
    if (Math.abs(from + n - start) > bridges.order + length) sizes.push(sizeAt(n));
  }
  const size = sizeAt(start - from);
  const largest = sizes.reduce((most, other) => Math.max(most, other), LEAST_SIZE);
  return size < BEYOND_NEIGHBOURS * largest ? undefined : chanceOfSize(Float64Array.from(sizes), size, LEAST_SIZE);
}

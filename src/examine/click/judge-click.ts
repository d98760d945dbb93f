// Second look at one joint: whether one to three samples stand out of sound that goes on without them, and stand out far more
// than anything a prediction from both sides misses nearby. Pure.
import type { Span } from '../../base/index.ts';
import { predictionResidual } from '../../signal/index.ts';
import { type JointModel, modelJoint } from './joint-model.ts';

export const WIDEST = 3;
/** Mean residual with the samples bridged, in powers of the residuals around: the sound goes on as if they were not there. */
const BELONGS = 4;
/** … and with the samples left in. */
const STANDS_OUT = 10;
/** Their height against the largest error of the same kind nearby. */
const BEYOND_NEIGHBOURS = 3;
const NEARBY = 512;
const FLAT = 3;
const FLAT_REACH = 6;

/** Positions are indices of the samples given. */
export interface OutlyingSamples extends Span {
  /** largest difference to the bridged sound, in quantising steps */
  readonly heightSteps: number;
  /** mean residual energy as it is, and with the samples bridged; the sound around is 1 */
  readonly misfit: number;
  readonly misfitWithout: number;
}

export function judgeClick(samples: Int32Array, at: number, step: number): OutlyingSamples | undefined {
  const model = modelJoint(samples, at, step, WIDEST);
  if (!model) return undefined;
  for (let width = 1; width <= WIDEST; width++) {
    const best = bestOfWidth(model, at, width);
    if (best.misfitWithout > BELONGS) continue;
    if (isEstimated(model.x, best) || touchesFlat(model.x, best)) return undefined;
    return best.misfit >= STANDS_OUT && Math.abs(best.heightSteps) >= BEYOND_NEIGHBOURS * largestNearby(model, best)
      ? best
      : undefined;
  }
  return undefined;
}

function bestOfWidth({ x, bridges, power, misfit }: JointModel, at: number, width: number): OutlyingSamples {
  let best: OutlyingSamples | undefined;
  for (let start = at - width; start <= at + 1; start++) {
    const { energy, between } = bridges.across(x.subarray(0, start), x.subarray(start + width), width);
    const misfitWithout = energy / bridges.order / power;
    if (best && best.misfitWithout <= misfitWithout) continue;
    let height = 0;
    for (let k = 0; k < width; k++) {
      const excess = x[start + k] - between[k];
      if (Math.abs(excess) > Math.abs(height)) height = excess;
    }
    best = { start, length: width, heightSteps: Math.round(height), misfit: misfit(start, start, 0), misfitWithout };
  }
  return best as OutlyingSamples;
}

/** Samples that repeat the one before them, or lie on the line between their neighbours: a deck's estimate, no click. */
function isEstimated(x: Float64Array, { start, length }: OutlyingSamples): boolean {
  const [before, after] = [x[start - 1], x[start + length]];
  let [held, drawn] = [true, true];
  for (let k = 0; k < length; k++) {
    if (x[start + k] !== before) held = false;
    if (Math.abs(x[start + k] - before - ((after - before) * (k + 1)) / (length + 1)) > 1) drawn = false;
  }
  return held || drawn;
}

/** Equal samples in a row right there: the edge of a mute, a hold or a flat top. */
function touchesFlat(x: Float64Array, { start, length }: OutlyingSamples): boolean {
  let row = 1;
  for (let i = start - FLAT_REACH; i < start + length + FLAT_REACH; i++) {
    row = x[i] === x[i - 1] ? row + 1 : 1;
    if (row >= FLAT) return true;
  }
  return false;
}

/** Largest error of one sample bridged from both sides, wherever the samples in question have no part in it. */
function largestNearby({ x, predictor }: JointModel, { start, length }: OutlyingSamples): number {
  const order = predictor.length;
  const from = Math.max(order, start - NEARBY);
  const to = Math.min(x.length, start + NEARBY);
  // Backwards over the residual, the same prediction gives the error of a bridge times the norm.
  const backwards = predictionResidual(x, predictor, from, to).reverse();
  const errors = predictionResidual(backwards, predictor, order, backwards.length).reverse();
  let norm = 1;
  for (const a of predictor) norm += a * a;
  let largest = 0;
  for (let n = 0; n < errors.length; n++) {
    const frame = from + n;
    if (frame + order >= start && frame < start + length + order) continue;
    largest = Math.max(largest, Math.abs(errors[n]));
  }
  return largest / norm;
}

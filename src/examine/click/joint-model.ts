// The linear prediction around a joint, fitted to both sides without the joint itself, and how large its residuals are
// there. Shared by the judges of clicks and of slips. Values are in quantising steps.
import { fitPredictor, type Predictor, predictionResidual } from '../../signal/index.ts';
import { Bridges } from './bridge.ts';

/** Frames around a joint that the judges want to see. */
export const JOINT_CONTEXT = 1024;

const ORDER = 32;
/** Samples on each side of a joint that may belong to it. */
const APART = 6;
/** The residuals' size is that of the livelier side, in this reach. */
const REACH = 256;
const FEWEST_VALUES = 24;
/** Frames that a joint needs on each side of it. */
export const JOINT_SIDE = REACH + APART;

export interface JointModel {
  readonly x: Float64Array;
  readonly predictor: Predictor;
  readonly bridges: Bridges;
  /** mean square of the residual near the joint, on the livelier side */
  readonly power: number;
  /** mean residual energy of a bridge per equation, in units of `power`: near 1 where both sides belong together */
  misfit(leftEnd: number, rightStart: number, gap: number): number;
}

/** Undefined where there is too little sound, or too few different values, on either side. */
export function modelJoint(
  samples: Int32Array,
  at: number,
  step: number,
  longestGap: number,
  fewestValues = FEWEST_VALUES,
): JointModel | undefined {
  if (at < JOINT_SIDE || at + JOINT_SIDE > samples.length) return undefined;
  const isVaried = (from: number, to: number) => hasValues(samples.subarray(from, to), fewestValues);
  if (!isVaried(at - REACH, at - APART) || !isVaried(at + APART, at + REACH)) return undefined;
  const x = inSteps(samples, step);
  const [left, right] = [x.subarray(0, at - APART), x.subarray(at + APART)];
  const predictor = fitPredictor([left, right], ORDER);
  if (!predictor) return undefined;
  const before = meanSquare(predictionResidual(x, predictor, Math.max(ORDER, at - REACH), at - APART));
  const after = meanSquare(predictionResidual(x, predictor, at + APART + ORDER, Math.min(x.length, at + REACH)));
  // A step of rounding has a power of 1/12 that no prediction undercuts.
  const power = Math.max(before, after, 1 / 6);
  const bridges = new Bridges(predictor, longestGap);
  const misfit = (leftEnd: number, rightStart: number, gap: number) =>
    bridges.energyAcross(x.subarray(0, leftEnd), x.subarray(rightStart), gap) / ORDER / power;
  return { x, predictor, bridges, power, misfit };
}

/** A loop, as Float64Array.from with a function takes as long as the whole fit. */
function inSteps(samples: Int32Array, step: number): Float64Array {
  const x = new Float64Array(samples.length);
  for (let i = 0; i < x.length; i++) x[i] = samples[i] / step;
  return x;
}

function hasValues(samples: Int32Array, fewest: number): boolean {
  const values = new Set<number>();
  for (let i = 0; i < samples.length && values.size < fewest; i++) values.add(samples[i]);
  return values.size >= fewest;
}

function meanSquare(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value * value;
  return sum / Math.max(1, values.length);
}

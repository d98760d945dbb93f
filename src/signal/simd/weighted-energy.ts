// The weighting filter of loudness over several channels at once: a recursive filter waits for itself, so four that wait together take
// hardly longer than one. Same bits as one by one (../loudness-filter.ts).
import { addWeightedEnergy, WEIGHTING_STATE } from '../loudness-filter.ts';
import { AT, copyIn, type Machine, machine } from './machine.ts';

const LANES = 4;
/** Frames of one part: four planes of them fill the area of one. */
const PART = 16_384;

/** Adds the weighted energy of samples [from, to) of every plane to its state. */
export function addWeightedEnergies(
  planes: readonly Int32Array[],
  from: number,
  to: number,
  coefficients: Float64Array,
  states: readonly Float64Array[],
): void {
  for (let c = 0; c < planes.length; c += LANES) {
    const lanes = Math.min(LANES, planes.length - c);
    if (lanes === 1) addWeightedEnergy(planes[c], from, to, coefficients, states[c]);
    else
      for (let at = from; at < to; at += PART)
        addPart(planes, c, lanes, at, Math.min(to, at + PART), coefficients, states);
  }
}

/** Lanes without a channel compute the area's old samples; nobody looks at them. */
function addPart(
  planes: readonly Int32Array[],
  first: number,
  lanes: number,
  from: number,
  to: number,
  coefficients: Float64Array,
  states: readonly Float64Array[],
): void {
  const it = machine();
  const stride = PART * 4;
  it.reals.set(coefficients, AT.coefficients / 8);
  it.reals.fill(0, AT.state / 8, AT.state / 8 + LANES * WEIGHTING_STATE);
  for (let lane = 0; lane < lanes; lane++) {
    copyIn(it, planes[first + lane].subarray(from, to), AT.plane + lane * stride);
    moveState(it, states[first + lane], lane, true);
  }
  it.kernels.weightedEnergy(AT.plane, stride, to - from, AT.coefficients, AT.state);
  for (let lane = 0; lane < lanes; lane++) moveState(it, states[first + lane], lane, false);
}

function moveState({ reals }: Machine, state: Float64Array, lane: number, isInwards: boolean): void {
  for (let k = 0, at = AT.state / 8 + lane; k < WEIGHTING_STATE; k++, at += LANES) {
    if (isInwards) reals[at] = state[k];
    else state[k] = reals[at];
  }
}

// The weighting filter of loudness over several channels at once: a recursive filter waits for itself, so four that wait together take
// hardly longer than one. Same bits as one by one (../loudness-filter.ts).
import { addWeightedEnergy, takeWeightedEnergy, WEIGHTING_STATE } from '../loudness-filter.ts';
import { copyIn, type Machine, machineOf } from './machine.ts';

const LANES = 4;
/** Frames of one part: four planes of them fill the area of one. */
const PART = 16_384;
/** Bytes from plane to plane, with two samples of context. */
const STRIDE = 4 * (PART + 4);
/** Bytes before the first plane, for its context. */
const BEFORE = 16;
/** Second differences of wider samples pass beyond 32 bits. */
const MOST_BITS = 29;
/** Of a state the kernel keeps all but the two samples, which it finds before the plane. */
const SAMPLES = 2;

/**
 * Weighted energy of the first `frames` samples of every plane, taken at each of `ends` (ascending, 1 .. frames): [k * planes + c] is that of plane
 * c up to ends[k]. What comes after the last end stays in the states. `bits`: width of the samples.
 */
export function weightedEnergies(
  planes: readonly Int32Array[],
  frames: number,
  bits: number,
  ends: readonly number[],
  coefficients: Float64Array,
  states: readonly Float64Array[],
): Float64Array {
  const energies = new Float64Array(ends.length * planes.length);
  for (let c = 0; c < planes.length; c += LANES) {
    const lanes = Math.min(LANES, planes.length - c);
    if (lanes === 1 || bits > MOST_BITS) {
      for (let lane = c; lane < c + lanes; lane++)
        takeAlone(planes, lane, frames, ends, coefficients, states, energies);
    } else {
      for (let at = 0, k = 0; at < frames; at += PART) {
        const to = Math.min(frames, at + PART);
        let next = k;
        while (next < ends.length && ends[next] <= to) next++;
        takePart(planes, c, lanes, at, to, ends, k, next, coefficients, states, energies);
        k = next;
      }
    }
  }
  return energies;
}

function takeAlone(
  planes: readonly Int32Array[],
  c: number,
  frames: number,
  ends: readonly number[],
  coefficients: Float64Array,
  states: readonly Float64Array[],
  energies: Float64Array,
): void {
  let at = 0;
  for (const [k, end] of ends.entries()) {
    addWeightedEnergy(planes[c], at, end, coefficients, states[c]);
    energies[k * planes.length + c] = takeWeightedEnergy(states[c]);
    at = end;
  }
  addWeightedEnergy(planes[c], at, frames, coefficients, states[c]);
}

/** Samples [from, to) and the ends number [k, next), which lie there. Lanes without a channel compute the area's old samples; nobody looks at them. */
function takePart(
  planes: readonly Int32Array[],
  first: number,
  lanes: number,
  from: number,
  to: number,
  ends: readonly number[],
  k: number,
  next: number,
  coefficients: Float64Array,
  states: readonly Float64Array[],
  energies: Float64Array,
): void {
  const it = machineOf(planes[first]);
  const { at } = it;
  const input = at.plane + BEFORE;
  it.reals.set(coefficients, at.coefficients / 8);
  it.reals.fill(0, at.state / 8, at.state / 8 + LANES * (WEIGHTING_STATE - SAMPLES));
  const placed = from > 0 && lanes === LANES ? placeOf(it, planes, first) : undefined;
  const start = placed ? placed.at + 4 * from : input;
  const stride = placed?.stride ?? STRIDE;
  for (let lane = 0; lane < lanes; lane++) {
    const state = states[first + lane];
    if (!placed) copyLane(it, planes[first + lane].subarray(from, to), state, start + lane * stride);
    keepSamples(it, state, start + lane * stride + 4 * (to - from - 1));
    moveState(it, state, lane, true);
  }
  for (let end = k; end < next; end++) it.words[at.list / 4 + end - k] = ends[end] - from;
  it.kernels.weightedEnergies(start, stride, to - from, at.list, next - k, at.coefficients, at.state, at.second);
  for (let lane = 0; lane < lanes; lane++) {
    moveState(it, states[first + lane], lane, false);
    for (let end = k; end < next; end++) {
      energies[end * planes.length + first + lane] = it.reals[at.second / 8 + (end - k) * LANES + lane];
    }
  }
}

/** Where four planes lie in the kernels' memory at even distances. Behind their first samples there is nothing to copy, as what lies before is theirs. */
function placeOf({ words }: Machine, planes: readonly Int32Array[], first: number) {
  const four = planes.slice(first, first + LANES);
  const [{ byteOffset: at }, { byteOffset: next }] = four;
  const stride = next - at;
  const isEven = four.every((plane, k) => plane.buffer === words.buffer && plane.byteOffset === at + k * stride);
  return isEven ? { at, stride } : undefined;
}

/** The two samples before the plane come from the state. */
function copyLane(it: Machine, samples: Int32Array, state: Float64Array, at: number): void {
  copyIn(it, samples, at);
  it.words[at / 4 - 1] = state[0];
  it.words[at / 4 - 2] = state[1];
}

/** The last two samples, of which `last` is the address of the second, go to the state; one alone joins the one before it. */
function keepSamples(it: Machine, state: Float64Array, last: number): void {
  state[0] = it.words[last / 4];
  state[1] = it.words[last / 4 - 1];
}

function moveState(
  { reals, at: { state: base } }: Machine,
  state: Float64Array,
  lane: number,
  isInwards: boolean,
): void {
  for (let k = SAMPLES, at = base / 8 + lane; k < WEIGHTING_STATE; k++, at += LANES) {
    if (isInwards) reals[at] = state[k];
    else state[k] = reals[at];
  }
}

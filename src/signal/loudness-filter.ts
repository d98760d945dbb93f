// The K-weighting of loudness (ITU-R BS.1770, Annex 1) as two second-order filters for any sampling rate, and the one hot
// loop that runs them. Not for gating (loudness-gate.ts) and not for meters with ballistics.
import { type Rate, rateHz } from '../base/index.ts';

/** (b0 + b1/z + b2/z²) / (1 + a1/z + a2/z²) */
export interface Biquad {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

export interface KWeighting {
  /** the head's shelf */
  readonly shelf: Biquad;
  /** the high-pass ("RLB") */
  readonly highPass: Biquad;
}

/** ITU-R BS.1770 Annex 1, tables 1 and 2, for 48 kHz. The product holds no other numbers of this filter. */
const AT_48_KHZ: KWeighting = {
  shelf: {
    b0: 1.53512485958697,
    b1: -2.69169618940638,
    b2: 1.19839281085285,
    a1: -1.69065929318241,
    a2: 0.73248077421585,
  },
  highPass: { b0: 1, b1: -2, b2: 1, a1: -1.99004745483398, a2: 0.99007225036621 },
};

/**
 * The standard asks for the same response at other rates and leaves the way open. Each filter is taken back through the
 * bilinear transform to its analogue prototype and forward again at the new rate, true at the corner frequency it had.
 */
export function kWeighting(rate: Rate): KWeighting {
  return { shelf: atRate(AT_48_KHZ.shelf, rateHz(rate)), highPass: atRate(AT_48_KHZ.highPass, rateHz(rate)) };
}

/** Polynomials in s = (1 - 1/z) / (1 + 1/z) are second order in s; a new rate only stretches s. */
function atRate({ b0, b1, b2, a1, a2 }: Biquad, hz: number): Biquad {
  const cornerTangent = Math.sqrt((1 + a1 + a2) / (1 - a1 + a2));
  const stretch = cornerTangent / Math.tan((Math.atan(cornerTangent) * 48_000) / hz);
  const [n0, n1, n2] = stretched(b0, b1, b2, stretch);
  const [d0, d1, d2] = stretched(1, a1, a2, stretch);
  return { b0: n0 / d0, b1: n1 / d0, b2: n2 / d0, a1: d1 / d0, a2: d2 / d0 };
}

function stretched(c0: number, c1: number, c2: number, stretch: number): readonly [number, number, number] {
  const square = (c0 - c1 + c2) * stretch * stretch;
  const linear = 2 * (c0 - c2) * stretch;
  const constant = c0 + c1 + c2;
  return [(square + linear + constant) / 4, (constant - square) / 2, (square - linear + constant) / 4];
}

/** Power gain of the whole weighting at a frequency below half the rate. */
export function kWeightingGain(weighting: KWeighting, frequencyHz: number, rate: Rate): number {
  const omega = (2 * Math.PI * frequencyHz) / rateHz(rate);
  return powerGain(weighting.shelf, omega) * powerGain(weighting.highPass, omega);
}

function powerGain({ b0, b1, b2, a1, a2 }: Biquad, omega: number): number {
  return squareSum(b0, b1, b2, omega) / squareSum(1, a1, a2, omega);
}

function squareSum(c0: number, c1: number, c2: number, omega: number): number {
  const real = c0 + c1 * Math.cos(omega) + c2 * Math.cos(2 * omega);
  const imaginary = c1 * Math.sin(omega) + c2 * Math.sin(2 * omega);
  return real * real + imaginary * imaginary;
}

/** Both filters as the hot loop wants them: their gains are taken out and applied to energies. */
export interface WeightingLoop {
  /** a1 a2 of the high-pass, b1/b0 b2/b0 a1 a2 of the shelf */
  readonly coefficients: Float64Array;
  /** what an energy of the loop must be multiplied with */
  readonly energyScale: number;
}

export function weightingLoop({ shelf, highPass }: KWeighting): WeightingLoop {
  const { b0, b1, b2, a1, a2 } = shelf;
  return {
    coefficients: Float64Array.of(highPass.a1, highPass.a2, b1 / b0, b2 / b0, a1, a2),
    energyScale: (highPass.b0 * b0) ** 2,
  };
}

/** State of one channel: two inputs, two outputs of the high-pass, two of the shelf, and the energy since last taken. */
export const WEIGHTING_STATE = 7;

/** Below this, in sample steps, a state is nothing: it is set to zero so that silence does not end in subnormal numbers. */
const NOTHING = 1e-20;

/**
 * Adds the weighted energy of samples [from, to) to the state; direct form I, sample by sample, so cuts change nothing. The
 * high-pass comes first: its zeros are a second difference of integers, and the loop waits for less (measured: a fifth faster).
 */
export function addWeightedEnergy(
  samples: Int32Array,
  from: number,
  to: number,
  coefficients: Float64Array,
  state: Float64Array,
): void {
  const c1 = coefficients[0];
  const c2 = coefficients[1];
  const b1 = coefficients[2];
  const b2 = coefficients[3];
  const a1 = coefficients[4];
  const a2 = coefficients[5];
  let x1 = state[0];
  let x2 = state[1];
  let z1 = state[2];
  let z2 = state[3];
  let y1 = state[4];
  let y2 = state[5];
  let energy = state[6];
  for (let i = from; i < to; i++) {
    const x = samples[i];
    // the newest output comes last in each sum: it is what the next sample waits for
    const z = x - x1 - x1 + x2 - c2 * z2 - c1 * z1;
    const y = z + b1 * z1 + b2 * z2 - a2 * y2 - a1 * y1;
    energy += y * y;
    x2 = x1;
    x1 = x;
    z2 = z1;
    z1 = z;
    y2 = y1;
    y1 = y;
  }
  state[0] = x1;
  state[1] = x2;
  state[2] = z1;
  state[3] = z2;
  state[4] = y1;
  state[5] = y2;
  state[6] = energy;
}

/** The energy since the last call, in squared sample steps before `energyScale`; call it at fixed places only. */
export function takeWeightedEnergy(state: Float64Array): number {
  const energy = state[6];
  state[6] = 0;
  for (let k = 2; k < 6; k++) if (state[k] < NOTHING && state[k] > -NOTHING) state[k] = 0;
  return energy;
}

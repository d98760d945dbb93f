// Chain steps that change sample values and leave positions alone. Words are clipped, never wrapped.
import type { Random } from '../signal/index.ts';
import type { ChainState } from './chain.ts';
import { divide, type Rounding } from './cover.ts';
import type { TruthRelation } from './truth.ts';

/** From the closest to the loosest relation; a chain is as loose as its loosest step. */
const LOOSENESS: readonly TruthRelation[] = ['bit-equal', 'scaled', 'resampled', 'via-analogue'];

export function looser(a: TruthRelation, b: TruthRelation): TruthRelation {
  return LOOSENESS[Math.max(LOOSENESS.indexOf(a), LOOSENESS.indexOf(b))];
}

export function clipTo(bits: number): (x: number) => number {
  const top = 2 ** (bits - 1);
  return (x) => (x < -top ? -top : x >= top ? top - 1 : x);
}

export function gain(state: ChainState, num: number, den: number, rounding: Rounding): ChainState {
  const scaled = mapped(state, (x) => divide(x * num, den, rounding));
  return { ...scaled, gain: (state.gain * num) / den };
}

export function addDither(state: ChainState, steps: number, random: Random): ChainState {
  return mapped(state, (x) => x + Math.round(steps * random.triangular()));
}

export function offset(state: ChainState, steps: number): ChainState {
  return mapped(state, (x) => x + steps);
}

export function truncate(state: ChainState, bits: number, random: Random | undefined): ChainState {
  const shift = state.bits - bits;
  if (shift <= 0) return state;
  const step = 2 ** shift;
  const floor = -(2 ** (state.bits - 1));
  const top = -floor - step;
  // with dither: round to nearest after adding +-1 new step of triangular noise; without: drop the bits
  const shorten = (x: number) => {
    const wanted = random ? x + step * random.triangular() + step / 2 : x;
    return Math.max(floor, Math.min(top, Math.floor(wanted / step) * step));
  };
  return mapped(state, shorten);
}

export function widen(state: ChainState, bits: number): ChainState {
  const shift = bits - state.bits;
  if (shift < 0 || bits > 32) throw new Error(`a ${state.bits}-bit word is not widened to ${bits} bits`);
  return { ...state, bits, planes: state.planes.map((plane) => plane.map((x) => x << shift)) };
}

export function selectChannels(state: ChainState, order: readonly number[]): ChainState {
  const pick = <T>(items: readonly T[]): T[] => order.map((channel) => items[channel - 1]);
  return {
    ...state,
    planes: pick(state.planes),
    channelOrder: pick(state.channelOrder),
    inverted: pick(state.inverted),
  };
}

/** The most negative value has no opposite: it becomes the most positive one. */
export function invert(state: ChainState, channels: readonly number[]): ChainState {
  const clip = clipTo(state.bits);
  const isChosen = (c: number) => channels.includes(c + 1);
  return {
    ...state,
    planes: state.planes.map((plane, c) => (isChosen(c) ? plane.map((x) => clip(-x)) : plane)),
    relation: looser(state.relation, channels.length > 0 ? 'scaled' : 'bit-equal'),
    inverted: state.inverted.map((was, c) => was !== isChosen(c)),
  };
}

function mapped(state: ChainState, change: (x: number) => number): ChainState {
  const clip = clipTo(state.bits);
  const planes = state.planes.map((plane) => plane.map((x) => clip(change(x))));
  const isSame = planes.every((plane, c) => plane.every((x, i) => x === state.planes[c][i]));
  return { ...state, planes, relation: looser(state.relation, isSame ? 'bit-equal' : 'scaled') };
}

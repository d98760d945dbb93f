// The way from the deck's output to the file: steps as plain data, run in order, each telling what it did to samples and to
// positions. Deterministic by seed. Not for what the deck did (conceal.ts). Single steps live in chain-values.ts (samples change,
// positions stay) and chain-positions.ts (positions change).
import type { Random } from '../signal/index.ts';
import { analogue, drift, dropFrames, type Positions, repeatFrames, unlocked } from './chain-positions.ts';
import { addDither, gain, invert, offset, selectChannels, truncate, widen } from './chain-values.ts';
import type { Rounding } from './cover.ts';
import type { TruthRelation, TruthSegment, TruthSlip } from './truth.ts';

export type ChainStep =
  /** times num/den, clipped to the word */
  | { readonly kind: 'gain'; readonly num: number; readonly den: number; readonly rounding?: Rounding }
  /** triangular dither over +-`steps` steps of the word (usually 1), rounded to whole steps */
  | { readonly kind: 'dither'; readonly steps: number }
  | { readonly kind: 'dc'; readonly steps: number }
  /** the word keeps its width, the bits below the upper `bits` become zero; dithered before if asked */
  | { readonly kind: 'truncate'; readonly bits: number; readonly dither?: boolean }
  /** into a wider container, left-justified */
  | { readonly kind: 'widen'; readonly bits: number }
  /** output channel k is input channel order[k-1], both 1-based */
  | { readonly kind: 'channels'; readonly order: readonly number[] }
  /** 1-based */
  | { readonly kind: 'invert'; readonly channels: readonly number[] }
  /** `frames` frames from `at` never arrive */
  | { readonly kind: 'drop'; readonly at: number; readonly frames: number }
  /** the `frames` frames before `at` arrive once more */
  | { readonly kind: 'repeat'; readonly at: number; readonly frames: number }
  /** a recorder on its own clock: > 0 it runs fast and repeats single samples, < 0 slow and loses them */
  | { readonly kind: 'unlocked'; readonly ppm: number }
  /** a sampling-rate converter: the capture holds 1 + ppm/1e6 frames for each one */
  | { readonly kind: 'drift'; readonly ppm: number }
  /** converters and a cable; see `AnaloguePath` */
  | ({ readonly kind: 'analogue' } & AnaloguePath);

export interface AnaloguePath {
  readonly gainDb: number;
  /** of white Gaussian noise, in steps of the output word */
  readonly noiseRms: number;
  readonly dcSteps: number;
  readonly driftPpm: number;
  /** delay of the path, any fraction of a frame */
  readonly delayFrames: number;
  /** corner of a first-order low-pass as a share of the sampling rate, 0 .. 0.5; 0.5 or more = none */
  readonly lowPass: number;
}

export interface ChainTruth {
  readonly relation: TruthRelation;
  /** sorted, disjoint; input positions of output frames. With drift they hold at their start and move by `driftPpm` */
  readonly segments: readonly TruthSegment[];
  readonly slips: readonly TruthSlip[];
  readonly driftPpm: number;
  /** factor of the values at equal full scale; polarity is told by `inverted` */
  readonly gain: number;
  /** 1-based input channel of each output channel */
  readonly channelOrder: readonly number[];
  /** of each output channel */
  readonly inverted: readonly boolean[];
}

export interface ChainOutput {
  readonly planes: Int32Array[];
  readonly bits: number;
  readonly truth: ChainTruth;
}

/** What the steps hand on: samples, and what became of them so far. */
export interface ChainState extends Positions {
  readonly planes: readonly Int32Array[];
  readonly bits: number;
  readonly relation: TruthRelation;
  readonly gain: number;
  readonly channelOrder: readonly number[];
  readonly inverted: readonly boolean[];
}

/** Runs the steps; without any, a copy. A step that changed no sample leaves the relation as it was. */
export function runChain(
  planes: readonly Int32Array[],
  bits: number,
  steps: readonly ChainStep[],
  random: Random,
): ChainOutput {
  let state: ChainState = {
    planes,
    bits,
    relation: 'bit-equal',
    gain: 1,
    channelOrder: planes.map((_, c) => c + 1),
    inverted: planes.map(() => false),
    pieces: [{ start: 0, length: planes[0]?.length ?? 0, offset: 0, cause: '' }],
    driftPpm: 0,
  };
  for (const [k, step] of steps.entries()) state = runStep(state, step, random.fork(`step ${k}`));
  const copied = state.planes.map((plane) => (planes.includes(plane) ? plane.slice() : plane));
  return { planes: copied, bits: state.bits, truth: truthOf(state) };
}

function runStep(state: ChainState, step: ChainStep, random: Random): ChainState {
  switch (step.kind) {
    case 'gain':
      return gain(state, step.num, step.den, step.rounding ?? 'nearest');
    case 'dither':
      return addDither(state, step.steps, random);
    case 'dc':
      return offset(state, step.steps);
    case 'truncate':
      return truncate(state, step.bits, step.dither ? random : undefined);
    case 'widen':
      return widen(state, step.bits);
    case 'channels':
      return selectChannels(state, step.order);
    case 'invert':
      return invert(state, step.channels);
    case 'drop':
      return dropFrames(state, step.at, step.frames, 'dropped samples');
    case 'repeat':
      return repeatFrames(state, step.at, step.frames, 'repeated samples');
    case 'unlocked':
      return unlocked(state, step.ppm);
    case 'drift':
      return drift(state, step.ppm);
    case 'analogue':
      return analogue(state, step, random);
  }
}

function truthOf(state: ChainState): ChainTruth {
  const { pieces, relation, driftPpm, gain: factor, channelOrder, inverted } = state;
  const slips = pieces.slice(1).map((piece, k): TruthSlip => {
    return { at: piece.start, lostFrames: piece.offset - pieces[k].offset, cause: piece.cause };
  });
  const segments = pieces.map(({ start, length, offset: by }) => ({ start, length, offset: by }));
  return { relation, segments, slips, driftPpm, gain: factor, channelOrder, inverted };
}

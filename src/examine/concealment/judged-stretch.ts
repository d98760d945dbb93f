// A candidate with its surroundings, cut out for judging, and what is counted in them. Shared by the judges of lines and of lattices; judges nothing.
import type { LocalValues } from './local-step.ts';
import type { HitCounts } from './marked-sound.ts';

/** A candidate in marked sound: indices of its first and behind its last sample, and of those of its surroundings. */
export interface Place {
  readonly from: number;
  readonly to: number;
  readonly begin: number;
  readonly end: number;
}

/** An unbroken row of hits: indices of its first and behind its last. */
export interface Row {
  readonly from: number;
  readonly to: number;
}

/** What is weighed: the surroundings alone, and the candidate in them. */
export interface Stretch {
  readonly samples: Int32Array;
  readonly marks: Uint8Array;
  readonly from: number;
  readonly to: number;
  readonly step: number;
  /** in which the sound stands still: `step`, or the step of an older word */
  readonly restStep: number;
}

export interface Context extends HitCounts {
  /** has few different values */
  readonly isMonotonous: boolean;
  /** what steps the sound around keeps */
  readonly local: () => LocalValues;
}

export interface Judgement {
  /** index in the sound of the first and behind the last replaced sample */
  readonly from: number;
  readonly to: number;
  readonly period: number;
  /** phases of the lattice relative to `from`, as x and . over one period */
  readonly pattern: string;
  readonly replaced: number;
  readonly misses: number;
  /** share of the lattice's places, in its middle half, whose sample no rounding explains: a deck leaves none (flat ones do lie midway). At
   * the ends sound falls into step with a lattice by chance */
  readonly besideShare: number;
  /** natural logarithm of the probability of this row at one given place */
  readonly logChance: number;
  readonly rounding: string;
}

/** Different values that sound around a candidate must have. */
export const FEWEST_VALUES = 24;

/** How a hold makes its values. */
export const HOLD_ROUNDING = { name: 'previous sample', width: 1 };

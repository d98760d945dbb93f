// What a plan is made from: the tape, what is wanted of it, the decks and recorders at hand, and the user's rules. Plain data with every
// default filled; how it is written on a sheet is tasks'.
import type { Rate } from '../base/index.ts';
import type { TapeFormat, TvSystem } from '../tape/index.ts';

export interface PlanTape {
  readonly id: string;
  /** null: the sheet names none, and what the decks can replay is taken on trust */
  readonly format: TapeFormat | null;
  readonly system: TvSystem | null;
  readonly rate: Rate | null;
  readonly word: number | null;
}

export type Condition = 'good' | 'fair' | 'poor';

export interface Wanted {
  /** 1-based; [1] where a tape holds one recording. Null: all the format has */
  readonly programmes: readonly number[] | null;
  /** 1-based within a programme. Null: all the format has */
  readonly channels: readonly number[] | null;
  /** independent reads (different passes) of every channel */
  readonly reads: number;
  /** one run of the tape. Null: the format's, where it has only one */
  readonly minutes: number | null;
  /** SP, LP ...; null: not said */
  readonly speed: string | null;
  readonly condition: Condition;
  /** what was seen: mould, sticky, splice, or any words of the user */
  readonly signs: readonly string[];
}

export interface DeckOutput {
  readonly name: string;
  /** aes3, aes3id, spdif, optical, analogue, analogue-consumer, dif, or any name of the user's */
  readonly kind: string;
  /** channels in one cable */
  readonly width: number;
  /** what it may be set to carry, channels of a programme in order; null: any `width` channels */
  readonly choices: readonly (readonly number[])[] | null;
}

export interface Deck {
  readonly name: string;
  /** the user's words for what it is */
  readonly equipment: string | null;
  /** format ids, families or beginnings of ids; null: not said */
  readonly plays: readonly string[] | null;
  readonly systems: readonly TvSystem[] | null;
  readonly speeds: readonly string[] | null;
  readonly outputs: readonly DeckOutput[];
  /** gives out the tape's own timecode */
  readonly timecode: boolean;
  /** gives out its word clock */
  readonly wordClock: boolean;
  /** how hard it is on tapes against an ordinary deck (1) */
  readonly wear: number;
}

export interface RecorderInput {
  readonly name: string;
  readonly kind: string;
  readonly channels: number;
}

/** Hz; both ends included. */
export interface RateRange {
  readonly lowHz: number;
  readonly highHz: number;
}

export interface Recorder {
  readonly name: string;
  readonly equipment: string | null;
  readonly inputs: readonly RecorderInput[];
  /** null: takes whatever rate comes in */
  readonly rates: readonly RateRange[] | null;
  /** word lengths it can be set to, ascending */
  readonly bits: readonly number[];
  readonly clock: 'input' | 'word' | 'internal';
  readonly resamples: 'never' | 'switchable' | 'always';
  /** largest file it writes, bytes; null: none that matters */
  readonly fileLimit: number | null;
  /** goes on in a next file at the limit without losing a sample */
  readonly splits: boolean;
  /** room for one pass, bytes; null: enough */
  readonly storage: number | null;
  /** keeps the tape's timecode with the file */
  readonly timecode: boolean;
  /** recorders with the same word start together, to the sample */
  readonly starts: string | null;
}

/** Points; one point is about as bad as one minute of a person's time. */
export interface CostWeights {
  /** per pass, for the risk of every run */
  readonly pass: number;
  /** per minute of tape run, before condition and deck are counted in */
  readonly wear: number;
  /** per hour of a person's time */
  readonly hour: number;
  readonly gigabyte: number;
  /** per channel and deck that its reads fall short of being on different decks */
  readonly deck: number;
}

export interface Rules {
  /** most passes allowed; null: any number */
  readonly passes: number | null;
  /** work beside the running time of each pass */
  readonly handlingMinutes: number;
  readonly prefer: 'wear' | 'proof' | null;
  /** what must hold the captures together: samples or a common start; timecode is enough; nothing is spent on it */
  readonly join: 'exact' | 'timecode' | 'none';
  /** connections through converters may be used where nothing digital is left */
  readonly analogue: boolean;
  readonly cost: CostWeights;
}

export interface PlanRequest {
  readonly tape: PlanTape;
  readonly wanted: Wanted;
  readonly decks: readonly Deck[];
  readonly recorders: readonly Recorder[];
  readonly rules: Rules;
}

/** Our own choice, no source: stated with every plan and open to the user's. */
export const DEFAULT_WEIGHTS: CostWeights = { pass: 30, wear: 0.5, hour: 60, gigabyte: 1, deck: 10 };

/** Winding, cleaning, loading, checking, noting. Common practice; IASA-TC 04 5.4.16 plans two to three hours for one of tape. */
export const DEFAULT_HANDLING_MINUTES = 20;

/** Our own choice, no source. */
export const CONDITION_WEAR: Readonly<Record<Condition, number>> = { good: 1, fair: 2, poor: 4 };

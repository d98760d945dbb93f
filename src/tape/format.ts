// The shape of one tape format: what other layers compare recordings with, plus rows that are only printed.
// Plain frozen data; not for lookups (find-format.ts) or text (describe-format.ts).
import type { Rate } from '../base/index.ts';
import type { Fact, MaybeFact } from './fact.ts';
import type { LossPattern } from './loss-pattern.ts';

export type TvSystem = '525/60' | '625/50';

export type UnitName = 'line' | 'field' | 'field-pair' | 'track' | 'frame' | 'revolution';

/** Samples per channel in one unit. `cycle` gives the repeating sequence where the count alternates in a known order. */
export interface UnitLength {
  /** exact ratio, in samples */
  readonly mean: Rate;
  readonly min: number;
  readonly max: number;
  readonly cycle?: readonly number[];
}

export interface SampleUnit {
  readonly name: UnitName;
  readonly length: Fact<UnitLength>;
}

/** A law id of `findLaw`, or `linear`. */
export type LawId = string;

export interface SignalFacts {
  /** nominal sampling rates, the usual one first */
  readonly rates: Fact<readonly Rate[]>;
  /** what the sampling clock hangs on: crystal, line rate, free-running */
  readonly clock: Fact<string>;
  /** lowest and highest rate in Hz where the deck can be run off speed */
  readonly varispeed?: Fact<readonly [number, number]>;
  /** bits of one word as recorded */
  readonly tapeBits: Fact<number>;
  /** bits of one word after expansion */
  readonly linearBits: Fact<number>;
  readonly law: Fact<LawId>;
  /** laws that remain possible beside `law` */
  readonly rivalLaws: readonly LawId[];
  /** per programme */
  readonly channels: Fact<number>;
  readonly programmes: Fact<number>;
  readonly emphasis: Fact<'none-known' | 'flag-50-15'>;
  /** how much later than channel 1 channel 2 is sampled, in sample periods */
  readonly channelSkew: MaybeFact<number>;
}

export interface DrumFacts {
  readonly heads: MaybeFact<number>;
  readonly headUse: MaybeFact<string>;
  readonly revolutionsPerMinute: MaybeFact<number>;
  readonly diameterMm?: Fact<number>;
}

export interface TapeSpeed {
  readonly mode: string;
  readonly mmPerSecond: number;
}

/** `minutes` are one run of the tape; every programme and channel group needs a run of its own. */
export interface PlayingTime {
  readonly cassette: string;
  readonly mode: string;
  readonly minutes: number;
}

/** A sample value that means "no valid sample". */
export interface ErrorCode {
  readonly bits: number;
  /** the word as a bit pattern */
  readonly word: number;
  /** the word as a signed sample */
  readonly sample: number;
}

export type ConcealmentKind = 'mean-of-neighbours' | 'hold' | 'mute' | 'error-code' | 'gating';

export interface PrintedFact {
  readonly group: string;
  readonly name: string;
  readonly fact: MaybeFact<string | number>;
}

export interface TapeFormat {
  readonly id: string;
  readonly family: string;
  readonly label: string;
  readonly standard: string;
  /** absent where the format does not depend on a television system */
  readonly system?: TvSystem;
  readonly signal: SignalFacts;
  /** from short to long; empty where nothing is known */
  readonly units: readonly SampleUnit[];
  readonly drum: DrumFacts;
  readonly tapeSpeeds: readonly Fact<TapeSpeed>[];
  readonly playingTimes: readonly Fact<PlayingTime>[];
  /** what decks do where correction fails, in the order they try it */
  readonly concealment: readonly Fact<ConcealmentKind>[];
  readonly errorCodes: readonly Fact<ErrorCode>[];
  readonly losses: readonly LossPattern[];
  readonly details: readonly PrintedFact[];
  readonly cautions: readonly Fact<string>[];
}

/** A unit that always holds the same number of samples. */
export function fixedLength(samples: number): UnitLength {
  return { mean: { num: samples, den: 1 }, min: samples, max: samples };
}

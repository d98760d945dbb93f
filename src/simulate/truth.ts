// The shapes of truth: what really happened to the samples of a simulated transfer. Plain data beside the samples.
// Not for what detectors think happened: that is a Finding of examine/.
import type { Span } from '../base/index.ts';

/** The same words as the loss kinds of examine/, which lies beside simulate/ in the layers. */
export const LOSS_KINDS = ['interpolated', 'held', 'muted', 'repeated'] as const;
export type LossKind = (typeof LOSS_KINDS)[number];

/** One burst of covered samples in one channel. The span reaches from the first to the last replaced sample. */
export interface TruthEvent extends Span {
  /** 1-based */
  readonly channel: number;
  readonly kind: LossKind;
  /** frames whose sample the deck really replaced (ramps of a mute count); <= length */
  readonly samples: number;
  /** of these, how many differ from the original: nobody can see the others */
  readonly changed: number;
  /** how the losses lie inside the span: "single", "run", "period 2", a loss pattern of a format */
  readonly pattern: string;
  readonly cause: string;
}

/** Samples lost or repeated by the chain. `at` is the capture frame at which the new placement begins. */
export interface TruthSlip {
  readonly at: number;
  /** > 0: samples lost before `at`; < 0: samples repeated before `at` */
  readonly lostFrames: number;
  readonly cause: string;
}

/** Frames [start, start+length) of the output are the input frames at [start+offset, …). */
export interface TruthSegment extends Span {
  readonly offset: number;
}

/** How the output relates to the input, from the closest to the loosest. The words of align/'s Relation. */
export type TruthRelation = 'bit-equal' | 'scaled' | 'resampled' | 'via-analogue';

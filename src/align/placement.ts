// Where captures lie on the timeline: the result of align/, the input of reconcile/ and the JSON of `align --json`.
import type { FrameSource, Span } from '../base/index.ts';

/** How a capture relates to the reference of its group. Only bit-equal reads may prove each other. */
export const RELATIONS = ['bit-equal', 'scaled', 'resampled', 'via-analogue', 'unrelated'] as const;
export type Relation = (typeof RELATIONS)[number];

export interface AlignInput {
  readonly source: FrameSource;
  /** tape channel of each file channel, when the transfer sheet says so; undefined = unknown, try all pairs */
  readonly channels?: readonly number[];
  /** run of the tape; captures of one pass share the deck's clock and its faults. Unknown = every file its own pass */
  readonly pass?: number;
}

/** Capture frames [start, start+length) lie at timeline frames [start+offset, …). A slip starts a new segment. */
export interface PlacedSegment extends Span {
  readonly offset: number;
}

export interface Placement {
  /** index into the inputs */
  readonly capture: number;
  readonly relation: Relation;
  /** empty when unrelated. Sorted by start. Frames in no segment are on no known place (said in `reason`) */
  readonly segments: readonly PlacedSegment[];
  /** capture clock against the timeline; 0 for bit-equal; null where it was not measurable */
  readonly driftPpm: number | null;
  /** 0 for exact placement; null when unrelated */
  readonly uncertaintyFrames: number | null;
  readonly method: string;
  /** in the user's words: why this relation, or why refused and what would help */
  readonly reason: string;
  /** captures of one group share a timeline; a refused join has its own group */
  readonly group: number;
  /** factor from the reference's samples to this capture's, 1 for bit-equal */
  readonly gain: number;
  /** frames compared and found equal / different over the common channels (bit-equal and scaled only) */
  readonly comparedFrames: number;
  readonly differingFrames: number;
  /** file channel pairs that carried the evidence, 1-based: [of this capture, of the reference side] */
  readonly channelPairs: readonly (readonly [number, number])[];
}

/** Samples lost or repeated inside one capture. */
export interface Slip {
  readonly capture: number;
  /** capture frame at which the new placement begins */
  readonly at: number;
  /** > 0: samples lost before `at`; < 0: samples repeated */
  readonly lostFrames: number;
  readonly reason: string;
}

/** Three captures placed pairwise whose offsets do not add up. */
export interface LoopConflict {
  readonly captures: readonly [number, number, number];
  readonly excessFrames: number;
  readonly at: number;
  readonly reason: string;
}

export interface Alignment {
  /** index of the capture whose frame 0 is timeline frame 0 (of group 0) */
  readonly reference: number;
  readonly placements: readonly Placement[];
  readonly slips: readonly Slip[];
  readonly loops: readonly LoopConflict[];
  /** input indices per group, the reference's group first */
  readonly groups: readonly (readonly number[])[];
}

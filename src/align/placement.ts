// Where captures lie on the timeline: the result of align/, the input of reconcile/ and the JSON of `align --json`.
import type { FrameSource, Span } from '../base/index.ts';

/**
 * How a capture relates to the reference of its group. Only bit-equal reads may prove each other.
 * bit-equal: the same numbers wherever neither is damaged (left-justified: 16 bits in a 24-bit file are equal).
 * scaled: one clock, whole offset, every sample the rounding of one multiplication; an inverted copy (gain -1) and a
 * shortened word (cut, rounded or dithered, gain 1) are scaled, never bit-equal.
 * resampled: another clock, a fraction of a frame or a filter, and no more than rounding left after the best short filter.
 * via-analogue: the same recording with more than rounding left; digital processing with noise looks the same and falls here.
 * unrelated: no evidence of either kind; also evidence that fits several places equally well.
 */
export const RELATIONS = ['bit-equal', 'scaled', 'resampled', 'via-analogue', 'unrelated'] as const;
export type Relation = (typeof RELATIONS)[number];

export interface AlignInput {
  readonly source: FrameSource;
  /** tape channel of each file channel, when the transfer sheet says so; undefined = unknown, try all pairs */
  readonly channels?: readonly number[];
  /** run of the tape; captures of one pass share the deck's clock and its faults. Unknown = every file its own pass */
  readonly pass?: number;
}

/**
 * Capture frames [start, start+length) lie at timeline frames [start+offset, …). A slip starts a new segment. With drift
 * only the segment's first frame is meant, rounded: frame f lies at start + offset + (f - start) * (1 + driftPpm * 1e-6).
 */
export interface PlacedSegment extends Span {
  readonly offset: number;
}

export interface Placement {
  /** index into the inputs */
  readonly capture: number;
  readonly relation: Relation;
  /** empty when unrelated. Sorted by start. Frames in no segment are on no known place (said in `reason`) */
  readonly segments: readonly PlacedSegment[];
  /** timeline frames per capture frame, less 1, in millionths: another stated rate shows here too. 0 for bit-equal; null unrelated */
  readonly driftPpm: number | null;
  /** two standard deviations of the place at its worst; 0 for exact placement; null when unrelated */
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

/**
 * Samples lost or repeated inside one capture. `at` is the first frame that no longer fits the earlier placement; where the
 * samples around it are equal by chance, silent or damaged, the last of the frames that could be meant.
 */
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
  /** timeline frame at which the disagreement begins */
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

// Which read gave each sample, and how far it may be believed: the result of reconcile/ and part of every report.

import type { FrameSource, Span } from '../base/index.ts';
import type { Finding } from './evidence.ts';

/** proven: equal in >= 2 independent reads. chosen: a judged choice. unproven: nobody can say. */
export type ProofState = 'proven' | 'chosen' | 'unproven';

/** One tape channel as one capture has it. */
export interface ReadRef {
  /** index into the captures */
  readonly capture: number;
  /** 1-based */
  readonly fileChannel: number;
}

export interface ProvenanceRun extends Span {
  /** tape channel (1-based) */
  readonly channel: number;
  /** null only where no read covers the frame: silence stands there to keep the channels in step */
  readonly source: ReadRef | null;
  readonly state: ProofState;
  readonly reason: string;
  /** true where the tape's samples are not recovered: every read shows concealment, or no read covers the frames */
  readonly lost?: boolean;
}

/** A stable, countable reason; `reason` in runs is its text. */
export type ReasonCode =
  | 'equal-in-independent-reads'
  | 'majority'
  | 'other-read-concealed'
  | 'single-read'
  | 'single-read-concealed'
  | 'other-read-lost'
  | 'all-reads-lost'
  | 'all-reads-concealed'
  | 'reads-differ'
  | 'same-pass-only'
  | 'no-read';

export interface ReconcileCapture {
  readonly source: FrameSource;
  readonly pass: number;
  /** tape channel of each file channel; 0 = not used */
  readonly channels: readonly number[];
  /** of the examination of this capture; those that speak against a sample are picked here */
  readonly findings: readonly Finding[];
}

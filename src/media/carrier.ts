// What a carrier says of itself besides samples: losses it admits, and facts of its recording. dv/ and dat/ fill the shapes.
// Nothing is judged here: tasks/ turns the losses into findings of the examination.
import type { JsonObject, Span } from '../base/index.ts';
import type { DatFacts } from './dat/dat-facts.ts';
import type { DvFacts } from './dv/dv-facts.ts';

/**
 * `error-code`: samples are there but say "no valid sample"; `missing-data`: the bytes that should hold them are not there or are not
 * theirs; `no-sound`: the frame says nothing of its sound, its length is a guess; `drive-interpolated`: the drive says it estimated them.
 */
export type CarrierLossCause = 'error-code' | 'missing-data' | 'no-sound' | 'drive-interpolated';

/** Consecutive frames of the carrier in which one channel lost samples of the same tracks. The span is that of those frames. */
export interface CarrierLoss extends Span {
  readonly cause: CarrierLossCause;
  /** 1-based */
  readonly channel: number;
  /** first frame of the carrier, counted from 0 in the stretch that is read */
  readonly firstFrame: number;
  readonly frames: number;
  /** samples lost in all of them */
  readonly samples: number;
  /** by track, where the carrier has tracks */
  readonly tracks: readonly { readonly track: number; readonly samples: number }[];
}

/** Something else about a place, such as a jump of the time code. `frames` are those of the carrier. */
export interface CarrierEvent extends Span {
  readonly kind: string;
  readonly firstFrame: number;
  readonly measured: number | string;
  readonly expected: number | string | null;
  readonly unit: string;
  readonly confidence: number;
  readonly detail: JsonObject;
}

export type CarrierFacts = DvFacts | DatFacts;

export interface CarrierReport {
  readonly losses: readonly CarrierLoss[];
  readonly events: readonly CarrierEvent[];
  /** for documents (docs/json.md); of a take, those of each part */
  readonly facts: readonly CarrierFacts[];
}

/** The report of one part of a take that begins at frame `at` of it; frames of the carrier stay those of the part. */
export function movedReport({ losses, events, facts }: CarrierReport, at: number): CarrierReport {
  const move = <T extends Span>(span: T): T => ({ ...span, start: span.start + at });
  return { losses: losses.map(move), events: events.map(move), facts };
}

/** Undefined when there are none. */
export function joinedReports(reports: readonly CarrierReport[]): CarrierReport | undefined {
  if (reports.length === 0) return undefined;
  return {
    losses: reports.flatMap(({ losses }) => losses),
    events: reports.flatMap(({ events }) => events),
    facts: reports.flatMap(({ facts }) => facts),
  };
}

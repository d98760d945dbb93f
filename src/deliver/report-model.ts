// The transfer report as plain data: the one model behind report.json, report.txt and report.html. Positions and amounts
// are frames; the derived parts (sentence, totals, places, lanes) are made by build-report. Not for layout.
import type { Alignment, LoopConflict, Slip } from '../align/index.ts';
import type { Problem, Rate, Span } from '../base/index.ts';
import type { Finding, InterfaceReading, Verdict } from '../examine/index.ts';
import type { PairAgreement, ProofState, ProvenanceRun } from '../reconcile/index.ts';
import type { CaptureFiles, DetectorRecord, Digests } from './documents.ts';

export const REPORT_SCHEMA = 'tapeproof/report@1';

/** What the sheet says about the tape; null where it says nothing. */
export interface ReportTape {
  readonly id: string;
  readonly format: string | null;
  readonly formatLabel: string | null;
  readonly system: string | null;
  readonly word: number | null;
  readonly rate: Rate | null;
  readonly notes: string | null;
}

export interface ReportCapture extends CaptureFiles {
  /** as on the sheet; of a take its first part */
  readonly path: string;
  readonly pass: number;
  readonly deck: string | null;
  readonly recorder: string | null;
  /** tape channel of each file channel; 0 = not used */
  readonly channels: readonly number[];
  /** start on the timeline declared on the sheet, frames */
  readonly declaredOffset: number | null;
  readonly notes: string | null;
  readonly container: string;
  readonly frames: number;
  readonly rate: Rate;
  readonly containerBits: number;
  readonly readAs: 'whole' | 'partial';
  readonly problems: readonly Problem[];
  readonly digests: Digests;
  /** positions are frames of this capture */
  readonly findings: readonly Finding[];
  readonly verdicts: readonly Verdict[];
  /** what the interface said, where the sheet gives it */
  readonly interface?: InterfaceReading;
}

/** Amounts in frames; proven + chosen + unproven = frames. `lost` counts frames that are also in one of the three. */
export interface ChannelTally {
  readonly group: number;
  readonly channel: number;
  readonly frames: number;
  readonly proven: number;
  readonly chosen: number;
  readonly unproven: number;
  /** no read has a sample of the tape here: concealed in every read, or no read at all */
  readonly lost: number;
  /** part of unproven: before the first and after the last frame that any capture has of the channel */
  readonly notCaptured: number;
  readonly seconds: number;
}

/** A provenance run, in frames of the group's master; the group is there when several masters exist. */
export interface ReportRun extends ProvenanceRun {
  readonly group?: number;
  /** true where no read has the sample of the tape; reconcile knows */
  readonly lost?: boolean;
}

/** How far two reads of a channel agree, over the frames both cover. */
export interface ReportAgreement extends PairAgreement {
  readonly group: number;
}

/** Master frames of one channel that share a fate; neighbouring runs with one reason are one span. */
export interface FateSpan extends Span {
  readonly group: number;
  readonly channel: number;
  readonly reason: string;
}

/** One place of loss as a listener meets it: lost stretches of any channel closer than the clustering gap. */
export interface LossPlace extends Span {
  readonly group: number;
  /** frames inside at which at least one channel is lost; sums over places to the total */
  readonly lostFrames: number;
  readonly channels: readonly number[];
}

/** Losses the detectors saw in one file channel, by kind; before any choice among reads. */
export interface LossCount {
  readonly capture: number;
  readonly fileChannel: number;
  /** tape channel, 0 when the file channel is not used */
  readonly channel: number;
  readonly kind: string;
  readonly count: number;
  readonly frames: number;
  readonly seconds: number;
}

/** Agreement along time: frames per column and state; the four arrays sum to the frames of each column. */
export interface AgreementStripe {
  readonly group: number;
  readonly channel: number;
  readonly frames: number;
  readonly proven: readonly number[];
  readonly chosen: readonly number[];
  readonly unproven: readonly number[];
  readonly lost: readonly number[];
}

/** Findings of one kind that touch one column of a lane. `column` is 0-based of `LANE_COLUMNS`. */
export interface LaneMark {
  readonly kind: string;
  readonly column: number;
  readonly count: number;
  readonly frames: number;
}

/** Events of one read (one channel in one capture) along the timeline of its group. */
export interface EventLane {
  readonly group: number;
  readonly channel: number;
  readonly capture: number;
  readonly fileChannel: number;
  /** columns in which the capture has frames, as [first, last] pairs */
  readonly covered: readonly (readonly [number, number])[];
  readonly marks: readonly LaneMark[];
}

/** Sample levels of one file channel: counts[i] holds samples with level in [fromDb + i*stepDb, + stepDb) dBFS. */
export interface LevelHistogram {
  readonly capture: number;
  readonly fileChannel: number;
  readonly fromDb: number;
  readonly stepDb: number;
  readonly counts: readonly number[];
  /** samples quieter than the lowest bin, digital zero included */
  readonly below: number;
  readonly peakDb: number | null;
}

export interface CodeBookPoint {
  /** absolute sample value, in steps of the word length read */
  readonly magnitude: number;
  /** distance to the next value used, in the same steps */
  readonly spacing: number;
}

/** Which values occur: their distance against amplitude, and how often the smallest ones occur. */
export interface CodeBookChart {
  readonly capture: number;
  readonly fileChannel: number;
  readonly bits: number;
  /** law id, "linear" or "cannot tell" */
  readonly answer: string;
  readonly measured: readonly CodeBookPoint[];
  /** what the law predicts; empty for linear */
  readonly law: readonly CodeBookPoint[];
  readonly nearZero: readonly { readonly value: number; readonly count: number }[];
}

/** A master's extent: timeline frame `start` is its frame 0. One per group of captures that could be joined. */
export interface ReportTimeline extends Span {
  readonly group: number;
  readonly rate: Rate;
}

export interface RefusedJoin {
  readonly group: number;
  readonly captures: readonly string[];
  /** why, and what would help */
  readonly reason: string;
}

export interface ReportMaster {
  readonly group: number;
  readonly path: string;
  readonly container: string;
  readonly digests: Digests;
  readonly bits: number;
  readonly rate: Rate;
  /** whole hertz as the header states it */
  readonly headerRateHz: number;
  readonly frames: number;
  /** tape channels in file order */
  readonly channels: readonly number[];
  /** timeline frame of the master's frame 0 */
  readonly start: number;
}

export interface ReportTotals {
  /** length of all timelines together, frames and seconds */
  readonly frames: number;
  readonly seconds: number;
  /** frames (and seconds) at which at least one channel is lost: what the sentence says */
  readonly lostFrames: number;
  readonly lostSeconds: number;
  /** sums over channels, in channel frames: proven + chosen + unproven = channelFrames */
  readonly channelFrames: number;
  readonly proven: number;
  readonly chosen: number;
  readonly unproven: number;
  readonly lost: number;
}

export interface ProofStatement {
  readonly words: Readonly<Record<ProofState | 'lost', string>>;
  readonly cannotShow: readonly string[];
}

export interface TransferReport {
  readonly schema: typeof REPORT_SCHEMA;
  readonly product: string;
  readonly version: string;
  /** ISO 8601, given by the caller */
  readonly date: string;
  readonly tape: ReportTape;
  /** for the layman: what is missing, then what no second read vouches for */
  readonly sentence: string;
  readonly statements: readonly string[];
  readonly proof: ProofStatement;
  readonly totals: ReportTotals;
  readonly channels: readonly ChannelTally[];
  readonly timelines: readonly ReportTimeline[];
  readonly masters: readonly ReportMaster[];
  readonly places: readonly LossPlace[];
  readonly lost: readonly FateSpan[];
  readonly unproven: readonly FateSpan[];
  readonly captures: readonly ReportCapture[];
  readonly alignment: Alignment;
  readonly slips: readonly Slip[];
  readonly loopConflicts: readonly LoopConflict[];
  readonly refusedJoins: readonly RefusedJoin[];
  readonly agreement: readonly ReportAgreement[];
  /** what was kept out of the masters, and why */
  readonly leftOut: readonly string[];
  /** where the sheet and the samples say different things */
  readonly contradictions: readonly string[];
  readonly losses: readonly LossCount[];
  readonly detectors: readonly DetectorRecord[];
  readonly detectionLimits: readonly string[];
  readonly cautions: readonly string[];
  readonly lanes: readonly EventLane[];
  readonly stripes: readonly AgreementStripe[];
  readonly levels: readonly LevelHistogram[];
  readonly codeBooks: readonly CodeBookChart[];
  readonly provenance: readonly ReportRun[];
}

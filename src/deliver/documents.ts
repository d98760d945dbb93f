// The JSON documents of `examine` and `align` and how they are built from plain results. Programs rely on their keys
// (docs/json.md): keys may be added, never renamed. Not for their text faces.
import type { Alignment, LoopConflict, PlacedSegment, Placement, Relation, Slip } from '../align/index.ts';
import type { Problem, Rate } from '../base/index.ts';
import type { Finding, InterfaceReading, Verdict } from '../examine/index.ts';
import type { CarrierFacts, TakeJoint } from '../media/index.ts';

export interface Digest {
  readonly sha256: string;
}

/** The whole file, and its audio payload alone (which survives a change of the metadata). */
export interface Digests {
  readonly file: Digest;
  readonly audio: Digest;
}

/** One detector as it ran: enough to run it again the same way. */
export interface DetectorRecord {
  readonly id: string;
  readonly version: number;
  readonly label: string;
  readonly settings: Readonly<Record<string, unknown>>;
  /** why it did not run on this file */
  readonly notApplicable?: string;
}

/** One file of a take that was read as one. */
export interface TakePartRecord {
  readonly path: string;
  /** position of its first frame in the take */
  readonly start: number;
  readonly frames: number;
  readonly fileBytes: number;
  /** of this file alone */
  readonly sha256: string;
}

/** How a file was read where its contents did not say it. */
export interface ReadWith {
  /** bare samples, stored so */
  readonly raw?: string;
  /** audio behind a stated size that was too short was read */
  readonly trailing?: true;
  /** the stretch of a stream whose mode changes, counted from 1 */
  readonly segment?: number;
}

/** What makes a capture of its files; the keys are there only where there is something to say. */
export interface CaptureFiles {
  /** the files in order, when there are several */
  readonly parts?: readonly TakePartRecord[];
  /** between the parts: one fewer */
  readonly joints?: readonly TakeJoint[];
  readonly readWith?: ReadWith;
  /** what the tape says of itself, where the file is an image of it; one entry for each file */
  readonly carrier?: readonly CarrierFacts[];
}

export interface ExaminedFile extends CaptureFiles {
  /** of a take: its first part */
  readonly path: string;
  /** "wave", "rf64", "flac" ... */
  readonly container: string;
  readonly frames: number;
  readonly channels: number;
  readonly rate: Rate;
  /** word length the container states */
  readonly containerBits: number;
  /** "partial" when the file ends early or could not be read to its end */
  readonly readAs: 'whole' | 'partial';
  readonly problems: readonly Problem[];
  readonly digests: Digests;
  readonly findings: readonly Finding[];
  readonly verdicts: readonly Verdict[];
  /** what the interface said, where it was given */
  readonly interface?: InterfaceReading;
  readonly detectors?: readonly DetectorRecord[];
}

/** A file of several that could not be read at all; the work went on with the others. */
export interface FailedFile {
  readonly path: string;
  readonly error: string;
}

export interface ExamineDocument {
  readonly schema: 'tapeproof/examine@1';
  readonly files: readonly ExaminedFile[];
  /** only there when a file failed */
  readonly failed?: readonly FailedFile[];
  /** files in a folder that are no audio; only there when there were any */
  readonly passedOver?: readonly string[];
}

export interface AlignedCapture {
  readonly path: string;
  readonly relation: Relation;
  readonly segments: readonly PlacedSegment[];
  readonly driftPpm: number | null;
  readonly uncertaintyFrames: number | null;
  readonly method: string;
  readonly reason: string;
  /** captures of one group share a timeline */
  readonly group: number;
  readonly gain: number;
  readonly comparedFrames: number;
  readonly differingFrames: number;
  readonly channelPairs: readonly (readonly [number, number])[];
}

export interface AlignDocument {
  readonly schema: 'tapeproof/align@1';
  /** path of the capture whose frame 0 is timeline frame 0 */
  readonly reference: string;
  readonly captures: readonly AlignedCapture[];
  readonly slips: readonly (Slip & { readonly path: string })[];
  readonly loops: readonly (LoopConflict & { readonly paths: readonly string[] })[];
  /** audio of the inputs that was not read; only there when there was any */
  readonly problems?: readonly string[];
}

export function examineDocument(
  files: readonly ExaminedFile[],
  failed: readonly FailedFile[] = [],
  passedOver: readonly string[] = [],
): ExamineDocument {
  return {
    schema: 'tapeproof/examine@1',
    files: files.map(examinedFile),
    ...(failed.length ? { failed } : {}),
    ...(passedOver.length ? { passedOver } : {}),
  };
}

/** The keys of `CaptureFiles` that have something to say. */
export function captureFiles({ parts, joints, readWith, carrier }: CaptureFiles): CaptureFiles {
  return {
    ...(parts ? { parts } : {}),
    ...(joints ? { joints } : {}),
    ...(readWith ? { readWith } : {}),
    ...(carrier ? { carrier } : {}),
  };
}

/** `paths[i]` names input i of the alignment; the captures stand in input order. */
export function alignDocument(
  paths: readonly string[],
  alignment: Alignment,
  problems: readonly string[] = [],
): AlignDocument {
  const placements = [...alignment.placements].sort((a, b) => a.capture - b.capture);
  return {
    schema: 'tapeproof/align@1',
    reference: paths[alignment.reference],
    captures: placements.map((placement) => alignedCapture(paths[placement.capture], placement)),
    slips: alignment.slips.map((slip) => ({ path: paths[slip.capture], ...slip })),
    loops: alignment.loops.map((loop) => ({ paths: loop.captures.map((capture) => paths[capture]), ...loop })),
    ...(problems.length ? { problems } : {}),
  };
}

/** Only the document's own keys, in the document's order, whatever else the caller's object carries. */
function examinedFile(file: ExaminedFile): ExaminedFile {
  const { path, container, frames, channels, containerBits, readAs, problems, findings, verdicts, detectors } = file;
  return {
    path,
    container,
    frames,
    channels,
    rate: { num: file.rate.num, den: file.rate.den },
    containerBits,
    readAs,
    problems,
    digests: { file: { sha256: file.digests.file.sha256 }, audio: { sha256: file.digests.audio.sha256 } },
    findings,
    verdicts,
    ...(file.interface ? { interface: file.interface } : {}),
    ...(detectors ? { detectors } : {}),
    ...captureFiles(file),
  };
}

function alignedCapture(path: string, placement: Placement): AlignedCapture {
  const { capture: _, segments, ...rest } = placement;
  return { path, ...rest, segments: segments.map(({ start, length, offset }) => ({ start, length, offset })) };
}

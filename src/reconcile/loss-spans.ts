// Which master frames of a read the examination called concealed. Findings come from examine/ as plain data.
import { intersectSpans, mergeSpans, type Span } from '../base/index.ts';
import type { Finding } from './evidence.ts';
import { type PlacedSpan, toMasterFrames } from './placed-spans.ts';
import type { ReadRef, ReconcileCapture } from './provenance.ts';

/** The kinds of examine/ that mean: this sample is an estimate of the deck, not what it read. */
const LOSS_KINDS: readonly string[] = ['interpolated', 'held', 'muted', 'repeated', 'drive-interpolated'];
/** The same samples twice, by a deck or by an editor: an editor's stand in every read of the tape. (A silence has a look of its own, look.ts.) */
const COPIED_KINDS: readonly string[] = ['copied'];
/** What a copy may be told as in another read, as a whole or in parts. */
const TWICE_KINDS: readonly string[] = ['copied', 'repeated'];
/** Some of the samples are estimates; the rest was read. (Error codes need no span: their sample tells them.) */
const SCATTERED: readonly string[] = ['interpolated', 'drive-interpolated'];
/** A finding that is more likely false than true is no evidence. */
const LEAST_CONFIDENCE = 0.5;

function isEvidence(finding: Finding, fileChannel: number, kinds = LOSS_KINDS): boolean {
  return (
    kinds.includes(finding.kind) && finding.confidence >= LEAST_CONFIDENCE && finding.channels.includes(fileChannel)
  );
}

/** Sorted, disjoint spans of master frames. */
export function lossSpans(capture: ReconcileCapture, read: ReadRef, placed: readonly PlacedSpan[]): Span[] {
  const spans = capture.findings.filter((f) => isEvidence(f, read.fileChannel));
  return toMasterFrames(mergeSpans(spans.flatMap(replacedSpans)), placed);
}

/** Master frames of copies that a deck or an editor made. */
export function copiedSpans(capture: ReconcileCapture, read: ReadRef, placed: readonly PlacedSpan[]): Span[] {
  return spansOf(COPIED_KINDS, capture, read, placed);
}

/** Master frames of copies, whoever made them. */
export function twiceSpans(capture: ReconcileCapture, read: ReadRef, placed: readonly PlacedSpan[]): Span[] {
  return spansOf(TWICE_KINDS, capture, read, placed);
}

function spansOf(
  kinds: readonly string[],
  capture: ReconcileCapture,
  read: ReadRef,
  placed: readonly PlacedSpan[],
): Span[] {
  const spans = capture.findings.filter((f) => isEvidence(f, read.fileChannel, kinds));
  return toMasterFrames(mergeSpans(spans), placed);
}

/** Master frames in which every sample is the deck's, guards included: what votes there is no read of the tape. */
export function guardedSpans(capture: ReconcileCapture, read: ReadRef, placed: readonly PlacedSpan[]): Span[] {
  const spans = capture.findings
    .filter((f) => isEvidence(f, read.fileChannel) && !SCATTERED.includes(f.kind))
    .map(({ start, length, guardBefore = 0, guardAfter = 0 }) => ({
      start: start - guardBefore,
      length: guardBefore + length + guardAfter,
    }));
  return toMasterFrames(mergeSpans(spans), placed);
}

/** A lattice over more frames than this is taken as one span: a list of its samples would fill the memory. */
const LONGEST_LATTICE = 262_144;

function replacedSpans({ start, length, pattern }: Finding): Span[] {
  if (!pattern?.includes('.') || length > LONGEST_LATTICE) return [{ start, length }];
  const spans: Span[] = [];
  for (let i = 0; i < length; i++) if (pattern[i % pattern.length] === 'x') spans.push({ start: start + i, length: 1 });
  return spans;
}

/** Frames of `within` that every one of the lists covers. */
export function coveredByAll(lists: readonly (readonly Span[])[], within: Span): Span[] {
  return lists.reduce<Span[]>((common, list) => intersectSpans(common, list), [within]);
}

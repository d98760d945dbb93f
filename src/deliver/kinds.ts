// How each kind of event is named and drawn: one word for people and one mark that differs by shape as well as colour.
// Not the list of what detectors may say: unknown kinds get the mark of "other".
import type { Finding } from '../examine/index.ts';

/** Marks are drawn in a box 10 high: full bar, lower block, thick block, upper block, tick, diamond, dot. */
export type MarkShape = 'bar' | 'lower' | 'block' | 'upper' | 'tick' | 'diamond' | 'dot';

export interface EventKind {
  readonly kind: string;
  readonly label: string;
  readonly shape: MarkShape;
}

const LOSSES: readonly EventKind[] = [
  { kind: 'interpolated', label: 'interpolated (estimated from neighbours)', shape: 'bar' },
  { kind: 'held', label: 'held (last value repeated)', shape: 'lower' },
  { kind: 'muted', label: 'muted (set to silence)', shape: 'block' },
  { kind: 'repeated', label: 'repeated (an earlier block again)', shape: 'upper' },
  { kind: 'error-code', label: 'error code (the tape says: no valid sample)', shape: 'block' },
  { kind: 'missing-data', label: 'missing data (no bytes where samples should be)', shape: 'block' },
  { kind: 'drive-interpolated', label: 'interpolated by the drive (its own flag)', shape: 'bar' },
];
const OTHERS: readonly EventKind[] = [
  { kind: 'silence', label: "silence (a mute or an editor's cut: cannot tell)", shape: 'dot' },
  { kind: 'copied', label: "the same samples twice (a deck's repeat or an editor's copy: cannot tell)", shape: 'dot' },
  { kind: 'straight-lines', label: 'drawn out with straight lines (made at a lower rate; no loss)', shape: 'dot' },
  { kind: 'clipped', label: 'clipped', shape: 'tick' },
  { kind: 'gap', label: 'gap (frames missing between two files of one take)', shape: 'diamond' },
  { kind: 'lost-frames', label: 'frames of the tape missing from the stream', shape: 'diamond' },
  { kind: 'timecode-jump', label: 'jump of the time code', shape: 'tick' },
  { kind: 'start-id', label: 'start ID of the tape', shape: 'tick' },
  { kind: 'recording-start', label: 'a recording begins', shape: 'tick' },
  { kind: 'other-speed', label: 'not played forward at normal speed', shape: 'lower' },
  { kind: 'discontinuity', label: 'the waveform breaks off (frames lost or doubled here)', shape: 'diamond' },
  { kind: 'slip', label: 'slip (samples lost or repeated by the chain)', shape: 'diamond' },
];
const OTHER: EventKind = { kind: 'other', label: 'other event', shape: 'dot' };

export function eventKind(kind: string): EventKind {
  return [...LOSSES, ...OTHERS].find((known) => known.kind === kind) ?? { ...OTHER, kind, label: kind };
}

/** Samples that a finding takes away: its length, or what the tape says was lost of it. */
export function lostFramesOf({ kind, length, measured }: Pick<Finding, 'kind' | 'length' | 'measured'>): number {
  return (kind === 'error-code' || kind === 'missing-data') && typeof measured === 'number' ? measured : length;
}

/** Kinds of loss as examine names them (the list there is the authority; a test compares both). */
export function isKindOfLoss(kind: string): boolean {
  return LOSSES.some((known) => known.kind === kind);
}

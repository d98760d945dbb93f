// A silence between two edges, and what these show: whether the sound breaks off there or goes on as evenly, lies at zero crossings as an editor cuts,
// is the same as one of another channel. Not for the decision (muted.ts), nor for measuring edges (mute-edges.ts).
import type { Span } from '../../base/index.ts';
import type { DoubtfulSilence } from './gate-doubt.ts';
import type { Edge } from './mute-edges.ts';

/** Levels within a factor of two are the same. */
const EVEN = 0.5;
/** In even sound a silence is told when it is so many times as long as any row of equal samples within 1024 frames. */
const FLAT_SHARE = 4;
/** Sound that breaks off at both ends of a long silence by so many quanta neither fades nor rounds to zero there … */
export const BREAK = 3;
/** … nor where it breaks off so high before it; at both ends of a short one, as sound that was made louder has steps of its own. Of
 * 30 000 long silences of undamaged recordings two broke off so, of the short ones none (tuning half). */
export const HIGH_BREAK = 6;
/** … and the silence is so many times as long as any row of zeros within 1024 frames. */
const ZERO_SHARE = 8;
/** Whoever cuts by hand or by program likes to cut where the wave crosses zero; a deck does not choose. Both edges of a mute lie so near to
 * zero by chance once in so many. */
const ZERO_CROSSINGS = 0.005;

/** A silence between two edges. */
export interface Gap extends Span {
  readonly channel: number;
  readonly before: Edge;
  readonly after: Edge;
  readonly step: number;
  readonly expectedByChance: number;
  readonly isAbrupt: boolean;
  /** by itself */
  readonly told: 'mute' | 'mute or cut' | 'nothing';
}

/** A sample of such roughness is zero by chance about once in 2.5 of it; a wave passes zero, it does not stay there. */
export function chanceOfZero(before: Edge, after: Edge): number {
  const rough = Math.min(before.roughness, after.roughness) / Math.max(before.quantum, after.quantum);
  return Math.max(before.flatShare, after.flatShare, Math.min(0.9, 0.4 / Math.max(0.4, rough)));
}

/** The sound neither fades nor begins at either edge, and shows no rows of zeros that come near the silence. `step`: of what is said of one edge alone, no
 * less than the lowest bit of an older word: brought into a longer word, that one rings, and the ringing ends in quanta. */
export function isBrokenOff(before: Edge, after: Edge, length: number, isLong: boolean, step: number): boolean {
  const quantum = Math.max(before.quantum, after.quantum);
  const least = Math.min(before.breakHeight, after.breakHeight) / quantum;
  const isHigh = isLong ? before.breakHeight / step >= HIGH_BREAK : least >= HIGH_BREAK;
  const rest = Math.max(before.longestZeros, after.longestZeros);
  return (isHigh || (isLong && least >= BREAK)) && rest <= length / ZERO_SHARE;
}

/** The sound has the same level on both sides, near and far, and shows no rows of equal samples that come near the silence:
 * however soft it is, it does not fade there. `leastLevel`: below it, sound is even by rounding. */
export function isInEvenSound(before: Edge, after: Edge, length: number, leastLevel: number): boolean {
  const isEven = (one: number, other: number) => one >= EVEN * other && other >= EVEN * one;
  return (
    Math.min(before.levelNear, after.levelNear) >= leastLevel &&
    isEven(before.levelNear, before.level) &&
    isEven(after.levelNear, after.level) &&
    isEven(before.levelNear, after.levelNear) &&
    Math.max(before.longestFlat, after.longestFlat) <= length / FLAT_SHARE
  );
}

/** The wave leaves zero at the slope it has anyway, not on a ramp. */
function isCutAtZero({ first, roughness }: Edge): boolean {
  return first >= roughness / 4;
}

export function isAtCrossings({ before, after }: Gap): boolean {
  return isCutAtZero(before) && isCutAtZero(after) && before.shareWithinFirst * after.shareWithinFirst < ZERO_CROSSINGS;
}

export function doubtful({ start, length, before, after }: Gap): DoubtfulSilence {
  return { start, length, peakBefore: before.peak, peakAfter: after.peak };
}

/** That at least two silences have. */
export function repeatedLengths(gaps: readonly Span[]): Set<number> {
  const seen = new Set<number>();
  const repeated = new Set<number>();
  for (const { length } of gaps) (seen.has(length) ? repeated : seen).add(length);
  return repeated;
}

/** Zeros of the sound itself may lengthen a silence by a few samples at either end. */
export const EDGE_SLACK = 8;

/** Quiet sound rounds to zero along most of a ramp, so the ramps of the clear gap are slack for the quiet one. */
export function isSameGap(quiet: Gap, clear: Gap): boolean {
  const atStart = Math.abs(quiet.start - clear.start);
  const atEnd = Math.abs(quiet.start + quiet.length - clear.start - clear.length);
  const rampBefore = clear.isAbrupt ? 0 : clear.before.ramp;
  return atStart <= Math.max(EDGE_SLACK, rampBefore) && atEnd <= Math.max(EDGE_SLACK, clear.after.ramp);
}

// Compares samples along a placement: near both ends of each segment and at even spacing. A sample of the truth, not
// the full comparison (that is reconcile's), but enough to tell equal from scaled and from merely similar.
import type { Span, StopSignal } from '../base/index.ts';
import { throwIfStopped } from '../base/index.ts';
import { NOT_COVERED, type PairReader } from './pair-reader.ts';

export interface Comparison {
  /** frames compared, and those in which any paired channel differs */
  readonly comparedFrames: number;
  readonly differingFrames: number;
  /** stretches compared that are not silent on both sides, and those with at least half of their frames equal */
  readonly windows: number;
  readonly equalWindows: number;
  /** differing samples [other, own], left-justified to 32 bits, at most 20 000: for the question of a gain */
  readonly differing: readonly (readonly [number, number])[];
}

interface OffsetSpan extends Span {
  readonly offset: number;
}

export const COMPARE_FRAMES = 256;
const SPREAD_WINDOWS = 160;
const MAX_END_SEGMENTS = 200;
const MAX_DIFFERING = 20_000;

export async function compareAlong(
  reader: PairReader,
  segments: readonly OffsetSpan[],
  stop?: StopSignal,
): Promise<Comparison> {
  const sum = { comparedFrames: 0, differingFrames: 0, windows: 0, equalWindows: 0 };
  const differing: [number, number][] = [];
  for (const { start, length, offset } of windowsAlong(reader, segments)) {
    throwIfStopped(stop);
    const a = await reader.own.read(start, length);
    const b = await reader.other.read(start + offset, length);
    const mismatch = reader.count(a, b, start, length, offset);
    const covered = mismatch.reduce((n, d) => n + (d === NOT_COVERED ? 0 : 1), 0);
    const unequal = mismatch.reduce((n, d) => n + (d === NOT_COVERED || d === 0 ? 0 : 1), 0);
    sum.comparedFrames += covered;
    sum.differingFrames += unequal;
    if (covered > 0 && reader.pairs.some(([own]) => a.planes[own].some((v) => v !== 0))) {
      sum.windows++;
      if (unequal * 2 <= covered) sum.equalWindows++;
    }
    if (unequal > 0) collect(reader, { a, b, mismatch, start, offset }, differing);
  }
  return { ...sum, differing };
}

function windowsAlong(reader: PairReader, segments: readonly OffsetSpan[]): OffsetSpan[] {
  const windows = new Map<number, OffsetSpan>();
  const covered = segments.map((s) => clip(s, reader.other.info.frames)).filter((s) => s.length > 0);
  const total = covered.reduce((sum, s) => sum + s.length, 0);
  const spacing = Math.max(COMPARE_FRAMES, Math.floor(total / SPREAD_WINDOWS));
  const add = (s: OffsetSpan, at: number) => {
    const start = Math.max(s.start, Math.min(at, s.start + s.length - COMPARE_FRAMES));
    windows.set(start, { start, length: Math.min(COMPARE_FRAMES, s.start + s.length - start), offset: s.offset });
  };
  const everySegment = Math.max(1, Math.ceil(covered.length / MAX_END_SEGMENTS));
  for (const [n, s] of covered.entries()) {
    for (let at = s.start; at < s.start + s.length; at += spacing) add(s, at);
    if (n % everySegment === 0 || n === covered.length - 1) add(s, s.start + s.length);
  }
  return [...windows.values()].sort((x, y) => x.start - y.start);
}

/** The part of a segment that the other capture has. */
function clip(segment: OffsetSpan, otherFrames: number): OffsetSpan {
  const start = Math.max(segment.start, -segment.offset);
  const end = Math.min(segment.start + segment.length, otherFrames - segment.offset);
  return { start, length: end - start, offset: segment.offset };
}

function collect(
  reader: PairReader,
  at: {
    a: { start: number; planes: readonly Int32Array[] };
    b: { start: number; planes: readonly Int32Array[] };
    mismatch: Uint8Array;
    start: number;
    offset: number;
  },
  into: [number, number][],
): void {
  const [own, other] = reader.pairs[0];
  const scaleA = 2 ** (32 - reader.own.info.bits);
  const scaleB = 2 ** (32 - reader.other.info.bits);
  for (let t = 0; t < at.mismatch.length && into.length < MAX_DIFFERING; t++) {
    if (at.mismatch[t] === 0 || at.mismatch[t] === NOT_COVERED) continue;
    const frame = at.start + t;
    const y = at.a.planes[own][frame - at.a.start];
    const x = at.b.planes[other][frame + at.offset - at.b.start];
    if (x * scaleB !== y * scaleA && !reader.isLost(y, x)) into.push([x * scaleB, y * scaleA]);
  }
}

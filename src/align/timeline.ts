// From pairwise relations to one timeline per group: the strongest links carry, every other link must agree with them.
import type { PairLink, PairSegment } from './pair-link.ts';
import type { LoopConflict, PlacedSegment, Slip } from './placement.ts';

/** Offset of a capture on its group's timeline: base, plus what it lost (less what it repeated) before the frame. */
export interface CapturePosition {
  readonly capture: number;
  readonly base: number;
  readonly slips: readonly Slip[];
  /** link that placed it; null for the group's reference */
  readonly via: PairLink | null;
}

/** The reference, then everything its links reach, strongest link first. */
export function placeGroup(
  reference: number,
  links: readonly PairLink[],
  slips: readonly Slip[],
): ReadonlyMap<number, CapturePosition> {
  const slipsOf = (capture: number) => slips.filter((slip) => slip.capture === capture);
  const placed = new Map<number, CapturePosition>();
  placed.set(reference, { capture: reference, base: 0, slips: slipsOf(reference), via: null });
  const byStrength = [...links].sort((a, b) => b.matches - a.matches);
  for (;;) {
    const link = byStrength.find((l) => placed.has(l.own) !== placed.has(l.other));
    if (!link) return placed;
    const capture = placed.has(link.own) ? link.other : link.own;
    const segment = widest(link);
    const own = middle(segment);
    const frame = capture === link.own ? own : own + segment.offset;
    const known = capture === link.own ? own + segment.offset : own;
    const partner = placed.get(capture === link.own ? link.other : link.own);
    const position = { capture, base: 0, slips: slipsOf(capture), via: link };
    const base = known + (partner ? offsetAt(partner, known) : 0) - frame - offsetAt(position, frame);
    placed.set(capture, { ...position, base });
  }
}

export function offsetAt(position: CapturePosition, frame: number): number {
  let offset = position.base;
  for (const slip of position.slips) if (slip.at <= frame) offset += slip.lostFrames;
  return offset;
}

/** Segments of a capture of so many frames: a new one at each slip. */
export function segmentsOf(position: CapturePosition, frames: number): PlacedSegment[] {
  const cuts = [0, ...position.slips.map((slip) => slip.at), frames];
  const segments: PlacedSegment[] = [];
  for (let n = 1; n < cuts.length; n++) {
    const length = cuts[n] - cuts[n - 1];
    if (length > 0) segments.push({ start: cuts[n - 1], length, offset: offsetAt(position, cuts[n - 1]) });
  }
  return segments;
}

/** Links whose measured offset is not the one that the rest of the group implies; one report per link. */
export function findConflicts(
  positions: ReadonlyMap<number, CapturePosition>,
  links: readonly PairLink[],
  nameOf: (capture: number) => string,
): LoopConflict[] {
  const conflicts: LoopConflict[] = [];
  for (const link of links) {
    const own = positions.get(link.own);
    const other = positions.get(link.other);
    if (!own || !other) continue;
    const wrong = link.segments.find((segment) => isTrusted(link, segment) && excessOf(own, other, segment) !== 0);
    if (!wrong) continue;
    const excessFrames = excessOf(own, other, wrong);
    const third = thirdOf(link, positions, links);
    conflicts.push({
      captures: [link.own, link.other, third],
      excessFrames,
      at: wrong.start + offsetAt(own, wrong.start),
      reason:
        `${nameOf(link.own)} against ${nameOf(link.other)} directly, and by way of ${nameOf(third)}, ` +
        `differ by ${Math.abs(excessFrames)} frames: a channel of one of them is delayed, or a channel map is wrong`,
    });
  }
  return conflicts;
}

/** Middle of the segment, by its own frames: away from the edges, where slack lies. */
function middle(segment: PairSegment): number {
  return segment.start + Math.floor(segment.length / 2);
}

function widest(link: PairLink): PairSegment {
  return link.segments.reduce((best, segment) => (segment.length > best.length ? segment : best));
}

/** Stretches of a few frames between two slips may be shared out differently by different partners. */
function isTrusted(link: PairLink, segment: PairSegment): boolean {
  const slack = Math.max(0, ...link.steps.map((step) => Math.abs(step.change) + step.slackFrames));
  return link.segments.length === 1 || segment.length > 2 * slack + 256;
}

function excessOf(own: CapturePosition, other: CapturePosition, segment: PairSegment): number {
  const frame = middle(segment);
  const there = frame + segment.offset;
  return frame + offsetAt(own, frame) - (there + offsetAt(other, there));
}

function thirdOf(link: PairLink, positions: ReadonlyMap<number, CapturePosition>, links: readonly PairLink[]): number {
  const linked = (a: number, b: number) =>
    links.some((l) => (l.own === a && l.other === b) || (l.own === b && l.other === a));
  const members = [...positions.keys()].filter((c) => c !== link.own && c !== link.other);
  const common = members.find((c) => linked(c, link.own) && linked(c, link.other));
  const via = positions.get(link.own)?.via;
  return common ?? (via ? (via.own === link.own ? via.other : via.own) : link.other);
}

// Where the frames of one capture stand in the master, after overlaps between its own segments are settled.
// Not for finding placements (align/) and not for choosing between captures.
import type { Placement } from '../align/index.ts';
import { mergeSpans, type Span, spanEnd } from '../base/index.ts';

/** Master frames [start, start + length) are capture frames from `from`. Sorted by start, disjoint. */
export interface PlacedSpan extends Span {
  readonly from: number;
}

/**
 * Segments of one capture may overlap on the timeline where its recorder repeated samples. The segment that starts later
 * in the capture counts from its first frame on; the earlier one counts only before it: after a slip the new placement is
 * the one that was verified to hold. `masterStart` is the timeline frame of master frame 0.
 */
export function placedSpans(placement: Placement, masterStart = 0): PlacedSpan[] {
  const spans: PlacedSpan[] = [];
  let limit = Number.POSITIVE_INFINITY;
  for (const segment of [...placement.segments].sort((a, b) => b.start - a.start)) {
    const start = segment.start + segment.offset - masterStart;
    const end = Math.min(start + segment.length, limit);
    if (end > start) spans.push({ start, length: end - start, from: segment.start });
    limit = Math.min(limit, start);
  }
  return spans.reverse();
}

/** Capture frames of the sorted, disjoint list, as master frames: sorted, merged. Frames on no known place vanish. */
export function toMasterFrames(captureSpans: readonly Span[], placed: readonly PlacedSpan[]): Span[] {
  const out: Span[] = [];
  let next = 0;
  for (const place of placed) {
    const placeEnd = place.from + place.length;
    while (next < captureSpans.length && spanEnd(captureSpans[next]) <= place.from) next++;
    for (let i = next; i < captureSpans.length && captureSpans[i].start < placeEnd; i++) {
      const from = Math.max(captureSpans[i].start, place.from);
      const to = Math.min(spanEnd(captureSpans[i]), placeEnd);
      if (to > from) out.push({ start: place.start + from - place.from, length: to - from });
    }
  }
  return mergeSpans(out);
}

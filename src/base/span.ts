// Spans of frames [start, start + length) and their set algebra on sorted, disjoint lists.

export interface Span {
  readonly start: number;
  readonly length: number;
}

export function spanEnd(span: Span): number {
  return span.start + span.length;
}

/** Sorted and merged; touching spans and spans closer than `gapFrames` become one. Empty spans vanish. */
export function mergeSpans(spans: readonly Span[], gapFrames = 0): Span[] {
  const sorted = spans.filter((s) => s.length > 0).sort((a, b) => a.start - b.start);
  const merged: Span[] = [];
  for (const span of sorted) {
    const last = merged.at(-1);
    if (last && span.start <= spanEnd(last) + gapFrames) {
      merged[merged.length - 1] = { start: last.start, length: Math.max(spanEnd(last), spanEnd(span)) - last.start };
    } else merged.push({ start: span.start, length: span.length });
  }
  return merged;
}

/** Frames in both; both lists sorted and disjoint. */
export function intersectSpans(a: readonly Span[], b: readonly Span[]): Span[] {
  const out: Span[] = [];
  for (let i = 0, j = 0; i < a.length && j < b.length; ) {
    const start = Math.max(a[i].start, b[j].start);
    const end = Math.min(spanEnd(a[i]), spanEnd(b[j]));
    if (start < end) out.push({ start, length: end - start });
    if (spanEnd(a[i]) < spanEnd(b[j])) i++;
    else j++;
  }
  return out;
}

export function totalLength(spans: readonly Span[]): number {
  return spans.reduce((sum, span) => sum + span.length, 0);
}

/** Index of the first span that ends after `frame`; the number of spans when none does. */
export function firstEndingAfter(spans: readonly Span[], frame: number): number {
  let low = 0;
  let high = spans.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (spanEnd(spans[middle]) <= frame) low = middle + 1;
    else high = middle;
  }
  return low;
}

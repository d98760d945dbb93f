// Stretches of the master over which the same reads of one channel exist. Differing runs never cross their edges.
import { type Span, spanEnd } from '../base/index.ts';

export interface Stretch extends Span {
  /** indices of the reads that cover it, ascending; empty where nothing does */
  readonly reads: readonly number[];
}

/** `covers[r]` is the sorted, disjoint cover of read r. The stretches abut from 0 to `frames`. */
export function stretchesOf(covers: readonly (readonly Span[])[], frames: number): Stretch[] {
  const edges = covers.flatMap((spans, read) =>
    spans.flatMap((span) => [
      { at: span.start, read, delta: 1 },
      { at: spanEnd(span), read, delta: -1 },
    ]),
  );
  edges.sort((a, b) => a.at - b.at);
  const open = new Int32Array(covers.length);
  const out: Stretch[] = [];
  let at = 0;
  for (const edge of [...edges, { at: frames, read: -1, delta: 0 }]) {
    const to = Math.min(edge.at, frames);
    if (to > at) pushStretch(out, at, to, open);
    at = Math.max(at, to);
    if (edge.read >= 0) open[edge.read] += edge.delta;
  }
  return out;
}

function pushStretch(out: Stretch[], start: number, end: number, open: Int32Array): void {
  const reads = [...open.keys()].filter((read) => open[read] > 0);
  const last = out.at(-1);
  if (last && spanEnd(last) === start && last.reads.join() === reads.join()) {
    out[out.length - 1] = { start: last.start, length: end - last.start, reads };
  } else out.push({ start, length: end - start, reads });
}

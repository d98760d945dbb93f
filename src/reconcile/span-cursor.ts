// Asks a sorted list of spans about rising frames in constant time.
import { type Span, spanEnd } from '../base/index.ts';

export class SpanCursor {
  readonly #spans: readonly Span[];
  #next = 0;

  constructor(spans: readonly Span[]) {
    this.#spans = spans;
  }

  /** Frames must not fall from call to call. */
  covers(frame: number): boolean {
    const span = this.#seek(frame);
    return span !== undefined && span.start <= frame;
  }

  /** First frame after `frame` and not after `limit` at which the answer of `covers` may change. */
  changeAfter(frame: number, limit: number): number {
    const span = this.#seek(frame);
    if (!span) return limit;
    return Math.min(limit, span.start <= frame ? spanEnd(span) : span.start);
  }

  #seek(frame: number): Span | undefined {
    while (this.#next < this.#spans.length && spanEnd(this.#spans[this.#next]) <= frame) this.#next++;
    return this.#spans[this.#next];
  }
}

// A sliding window over all reads in master frames: each capture is read once, in order, left-justified to the master's
// width. Holds a little history and a little future, whatever the length of the tape.
import { firstEndingAfter, type StopSignal, spanEnd, TapeproofError, throwIfStopped } from '../base/index.ts';
import type { PlacedSpan } from './placed-spans.ts';
import type { ReconcileCapture } from './provenance.ts';

/** One capture that is read: its place and which of its channels fill which planes of the window. */
export interface Feed {
  readonly capture: ReconcileCapture;
  readonly placed: readonly PlacedSpan[];
  readonly taps: readonly { readonly fileChannel: number; readonly plane: Int32Array }[];
}

export class ReadWindow {
  readonly #feeds: readonly Feed[];
  /** planes that move with the window but are written by others */
  readonly #others: readonly Int32Array[];
  readonly #frames: number;
  readonly #bits: number;
  readonly #capacity: number;
  #base = 0;
  #end = 0;

  constructor(
    feeds: readonly Feed[],
    others: readonly Int32Array[],
    shape: { frames: number; bits: number; capacity: number },
  ) {
    this.#feeds = feeds;
    this.#others = others;
    this.#frames = shape.frames;
    this.#bits = shape.bits;
    this.#capacity = shape.capacity;
  }

  /** Master frame that stands at index 0 of the planes. */
  get base(): number {
    return this.#base;
  }

  /** Makes [keepFrom, needTo) present, or to the end of the master; `needTo - keepFrom` at most the capacity. */
  async fill(keepFrom: number, needTo: number, stop: StopSignal | undefined): Promise<void> {
    if (Math.min(needTo, this.#frames) <= this.#end) return;
    this.#shift(Math.max(this.#base, keepFrom));
    const to = Math.min(this.#frames, this.#base + this.#capacity);
    for (const feed of this.#feeds) {
      throwIfStopped(stop);
      await this.#load(feed, this.#end, to);
    }
    this.#end = to;
  }

  #shift(base: number): void {
    const from = base - this.#base;
    if (from === 0) return;
    for (const feed of this.#feeds) for (const tap of feed.taps) tap.plane.copyWithin(0, from);
    for (const plane of this.#others) plane.copyWithin(0, from);
    this.#base = base;
  }

  async #load(feed: Feed, from: number, to: number): Promise<void> {
    const { info } = feed.capture.source;
    for (let i = firstEndingAfter(feed.placed, from); i < feed.placed.length && feed.placed[i].start < to; i++) {
      const span = feed.placed[i];
      const start = Math.max(span.start, from);
      const length = Math.min(spanEnd(span), to) - start;
      const at = span.from + start - span.start;
      const block = await feed.capture.source.read(at, length);
      if (block.frames !== length || block.start !== at) {
        throw new TapeproofError('io', `${info.name}: ended sooner than when it was placed`, {
          expected: `frames ${at} to ${at + length}`,
          found: `${block.frames} frames from ${block.start}`,
          next: 'check that the file was not changed, then align again',
        });
      }
      for (const tap of feed.taps) {
        leftJustify(block.planes[tap.fileChannel - 1], tap.plane, start - this.#base, this.#bits - info.bits);
      }
    }
  }
}

/** Copies `from` into `to` at `at`, each sample shifted left by `shift` bits. */
export function leftJustify(from: Int32Array, to: Int32Array, at: number, shift: number): void {
  to.set(from, at);
  if (shift === 0) return;
  for (let i = at; i < at + from.length; i++) to[i] <<= shift;
}

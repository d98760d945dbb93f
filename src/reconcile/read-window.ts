// A sliding window over all reads in master frames: each capture is read once, in order, left-justified to the master's
// width. Holds a little history and a little future, whatever the length of the tape.
import { firstEndingAfter, readInto, type StopSignal, spanEnd, TapeproofError, throwIfStopped } from '../base/index.ts';
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
  readonly #unused: Int32Array;
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
    this.#unused = new Int32Array(shape.capacity);
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
    const targets = this.#targets(feed);
    for (let i = firstEndingAfter(feed.placed, from); i < feed.placed.length && feed.placed[i].start < to; i++) {
      const span = feed.placed[i];
      const start = Math.max(span.start, from);
      const length = Math.min(spanEnd(span), to) - start;
      const at = span.from + start - span.start;
      const index = start - this.#base;
      const frames = await readInto(feed.capture.source, at, length, targets, index);
      if (frames !== length) {
        throw new TapeproofError('io', `${info.name}: ended sooner than when it was placed`, {
          expected: `frames ${at} to ${at + length}`,
          found: `${frames} frames`,
          next: 'check that the file was not changed, then align again',
        });
      }
      for (const { fileChannel, plane } of feed.taps) {
        const first = targets[fileChannel - 1];
        if (first !== plane) plane.set(first.subarray(index, index + length), index);
      }
      for (const { plane } of feed.taps) leftJustify(plane, index, index + length, this.#bits - info.bits);
    }
  }

  /** By file channel: the plane of the first tap, or one that nobody looks at. */
  #targets({ capture, taps }: Feed): readonly Int32Array[] {
    return Array.from(
      { length: capture.source.info.channels },
      (_, c) => taps.find(({ fileChannel }) => fileChannel === c + 1)?.plane ?? this.#unused,
    );
  }
}

/** Each sample shifted left by `shift` bits. */
function leftJustify(plane: Int32Array, from: number, to: number, shift: number): void {
  if (shift === 0) return;
  for (let i = from; i < to; i++) plane[i] <<= shift;
}

// Holds what the second look re-reads, per channel, and hands each candidate with its surroundings to a judge as soon as
// they are there. Bounded: keeps no more than the longest candidate with its context and one block.
import { type Block, type Span, spanEnd } from '../../base/index.ts';

/** Gets the candidate's channel (0-based), samples with context, and the candidate's index in them. */
type JudgeOne<C> = (channel: number, candidate: C, samples: Int32Array, from: number) => void;

/** Gets all that are due at once, in order, with the samples that all their surroundings lie in: from frame `start` on. */
type JudgeDue<C> = (channel: number, due: readonly C[], samples: Int32Array, start: number) => void;

export class SecondLook<C extends Span> {
  readonly #context: number;
  readonly #pending: C[][];
  readonly #judge: JudgeDue<C>;
  #buffers: Int32Array[];
  #start = 0;
  #length = 0;

  constructor(channels: number, contextFrames: number, judge: JudgeOne<C> | { readonly allDue: JudgeDue<C> }) {
    this.#context = contextFrames;
    this.#pending = Array.from({ length: channels }, () => []);
    this.#judge = 'allDue' in judge ? judge.allDue : oneByOne(contextFrames, judge);
    this.#buffers = Array.from({ length: channels }, () => new Int32Array(0));
  }

  /** Returns the spans to be re-read. */
  plan(channel: number, candidates: readonly C[]): Span[] {
    const pending = [...candidates].sort((a, b) => a.start - b.start);
    this.#pending[channel] = pending;
    const spans: Span[] = [];
    // Rough sound has candidates by the thousand, each within the surroundings of the next.
    for (let i = 0; i < pending.length; ) {
      const start = pending[i].start - this.#context;
      let end = start;
      do end = Math.max(end, spanEnd(pending[i++]) + this.#context);
      while (i < pending.length && pending[i].start - this.#context <= end);
      spans.push({ start, length: end - start });
    }
    return spans;
  }

  look(block: Block): void {
    if (block.start !== this.#start + this.#length) {
      this.#settle(Number.POSITIVE_INFINITY);
      this.#start = block.start;
      this.#length = 0;
    }
    this.#append(block);
    this.#settle(this.#start + this.#length);
    this.#forget();
  }

  finish(): void {
    this.#settle(Number.POSITIVE_INFINITY);
  }

  #append(block: Block): void {
    const needed = this.#length + block.frames;
    if (this.#buffers[0].length < needed) {
      this.#buffers = this.#buffers.map((old) => {
        const grown = new Int32Array(2 * needed);
        grown.set(old.subarray(0, this.#length));
        return grown;
      });
    }
    for (let c = 0; c < this.#buffers.length; c++) this.#buffers[c].set(block.planes[c], this.#length);
    this.#length = needed;
  }

  /** Judges every candidate whose context ends before `known`, or whose data ends the span. */
  #settle(known: number): void {
    for (let channel = 0; channel < this.#pending.length; channel++) {
      const pending = this.#pending[channel];
      let done = 0;
      while (done < pending.length && pending[done].start + pending[done].length + this.#context <= known) {
        // Not yet read: with `known` infinite only candidates inside the buffer are due.
        if (pending[done].start < this.#start || pending[done].start >= this.#start + this.#length) break;
        done++;
      }
      if (done === 0) continue;
      this.#judge(channel, pending.slice(0, done), this.#buffers[channel].subarray(0, this.#length), this.#start);
      pending.splice(0, done);
    }
  }

  /** Drops frames no pending candidate needs. */
  #forget(): void {
    let keepFrom = this.#start + this.#length;
    for (const pending of this.#pending) {
      if (pending.length) keepFrom = Math.min(keepFrom, pending[0].start - this.#context);
    }
    const drop = Math.min(this.#length, Math.max(0, keepFrom - this.#start));
    if (drop === 0) return;
    for (const buffer of this.#buffers) buffer.copyWithin(0, drop, this.#length);
    this.#start += drop;
    this.#length -= drop;
  }
}

function oneByOne<C extends Span>(context: number, judge: JudgeOne<C>): JudgeDue<C> {
  return (channel, due, samples, start) => {
    for (const candidate of due) {
      const from = Math.max(0, candidate.start - context - start);
      const to = Math.min(samples.length, candidate.start + candidate.length + context - start);
      judge(channel, candidate, samples.subarray(from, to), candidate.start - start - from);
    }
  };
}

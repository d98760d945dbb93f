// The provenance of one channel while it grows: runs in columns of numbers, so that a badly damaged tape of hours stays
// small in memory (14 bytes per run). Runs that touch and say the same are one.
import type { ProofState, ProvenanceRun, ReadRef, ReasonCode } from './provenance.ts';

export interface Reason {
  readonly state: ProofState;
  readonly code: ReasonCode;
  readonly text: string;
  /** every read shows concealment, or nothing covers the frames: not recovered */
  readonly lost: boolean;
  /** of a choice: how much the odds say, higher is stronger; for comparing reasons only */
  readonly strength?: number;
}

export interface Tally {
  readonly proven: number;
  readonly chosen: number;
  readonly unproven: number;
  /** part of unproven */
  readonly lost: number;
}

const NO_SOURCE = 0xffff;

export class RunBook {
  readonly channel: number;
  readonly #reads: readonly ReadRef[];
  readonly #reasons: Reason[] = [];
  readonly #known = new Map<string, number>();
  #starts = new Float64Array(64);
  #reasonOf = new Uint32Array(64);
  #sourceOf = new Uint16Array(64);
  #count = 0;
  #end = 0;

  constructor(channel: number, reads: readonly ReadRef[]) {
    this.channel = channel;
    this.#reads = reads;
  }

  /** master frames written so far */
  get end(): number {
    return this.#end;
  }

  get size(): number {
    return this.#count;
  }

  /** The number by which `add` knows a reason. */
  intern(reason: Reason): number {
    const key = `${reason.state}|${reason.code}|${reason.text}`;
    const found = this.#known.get(key);
    if (found !== undefined) return found;
    this.#known.set(key, this.#reasons.length);
    return this.#reasons.push(reason) - 1;
  }

  /** The next `length` frames came from `read` (index into the channel's reads, -1 for none). */
  add(length: number, read: number, reason: number): void {
    if (length <= 0) return;
    const source = read < 0 ? NO_SOURCE : read;
    const last = this.#count - 1;
    if (last < 0 || this.#sourceOf[last] !== source || this.#reasonOf[last] !== reason) {
      if (this.#count === this.#starts.length) this.#grow();
      this.#starts[this.#count] = this.#end;
      this.#sourceOf[this.#count] = source;
      this.#reasonOf[this.#count] = reason;
      this.#count++;
    }
    this.#end += length;
  }

  *runs(): Generator<ProvenanceRun> {
    for (const { start, length, index, reason } of this.spans()) {
      const source = this.#sourceOf[index] === NO_SOURCE ? null : this.#reads[this.#sourceOf[index]];
      const { state, text, lost } = reason;
      yield { channel: this.channel, start, length, source, state, reason: text, lost };
    }
  }

  *spans(): Generator<{ start: number; length: number; index: number; reason: Reason }> {
    for (let index = 0; index < this.#count; index++) {
      const start = this.#starts[index];
      const end = index + 1 < this.#count ? this.#starts[index + 1] : this.#end;
      yield { start, length: end - start, index, reason: this.#reasons[this.#reasonOf[index]] };
    }
  }

  tally(): Tally {
    const sum = { proven: 0, chosen: 0, unproven: 0, lost: 0 };
    for (const { length, reason } of this.spans()) {
      sum[reason.state] += length;
      if (reason.lost) sum.lost += length;
    }
    return sum;
  }

  reasonCounts(): Partial<Record<ReasonCode, number>> {
    const counts: Partial<Record<ReasonCode, number>> = {};
    for (const { length, reason } of this.spans()) counts[reason.code] = (counts[reason.code] ?? 0) + length;
    return counts;
  }

  #grow(): void {
    const grow = <T extends Float64Array | Uint32Array | Uint16Array>(old: T, next: T): T => {
      next.set(old);
      return next;
    };
    const size = this.#starts.length * 2;
    this.#starts = grow(this.#starts, new Float64Array(size));
    this.#reasonOf = grow(this.#reasonOf, new Uint32Array(size));
    this.#sourceOf = grow(this.#sourceOf, new Uint16Array(size));
  }
}

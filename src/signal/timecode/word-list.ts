// Found words of a whole tape in little room: 41 bytes each, about 120 MB for 24 hours. Not for finding or judging them.
import type { FoundWord } from './word-finder.ts';

/** Grows; words are read back as they were put in (`jitter` to single precision). */
export class WordList {
  #length = 0;
  #start = new Float64Array(64);
  #end = new Float64Array(64);
  #jitter = new Float32Array(64);
  #low = new Uint32Array(64);
  #high = new Uint32Array(64);
  #isReverse = new Uint8Array(64);

  get length(): number {
    return this.#length;
  }

  add({ start, end, jitter, low, high, isReverse }: FoundWord): void {
    if (this.#length === this.#start.length) this.#grow();
    const i = this.#length++;
    this.#start[i] = start;
    this.#end[i] = end;
    this.#jitter[i] = jitter;
    this.#low[i] = low;
    this.#high[i] = high;
    this.#isReverse[i] = isReverse ? 1 : 0;
  }

  at(i: number): FoundWord {
    if (!(i >= 0 && i < this.#length)) throw new Error(`no word ${i} of ${this.#length}`);
    return {
      start: this.#start[i],
      end: this.#end[i],
      jitter: this.#jitter[i],
      low: this.#low[i],
      high: this.#high[i],
      isReverse: this.#isReverse[i] === 1,
    };
  }

  /** Indices in order of time, the steadier first where two begin alike. */
  inOrder(): Uint32Array {
    const [start, jitter] = [this.#start, this.#jitter];
    const order = Uint32Array.from({ length: this.#length }, (_, i) => i);
    return order.sort((a, b) => start[a] - start[b] || jitter[a] - jitter[b]);
  }

  #grow(): void {
    const double = <T extends Float64Array | Float32Array | Uint32Array | Uint8Array>(old: T, bigger: T): T => {
      bigger.set(old);
      return bigger;
    };
    const size = 2 * this.#start.length;
    this.#start = double(this.#start, new Float64Array(size));
    this.#end = double(this.#end, new Float64Array(size));
    this.#jitter = double(this.#jitter, new Float32Array(size));
    this.#low = double(this.#low, new Uint32Array(size));
    this.#high = double(this.#high, new Uint32Array(size));
    this.#isReverse = double(this.#isReverse, new Uint8Array(size));
  }
}

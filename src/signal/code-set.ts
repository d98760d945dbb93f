// Which sample values occur in a stream and how often: the raw material for word length and companding questions.
// Not for judging them: weighing a code book against linear samples is book-evidence.ts.

/** Distinct values, ascending, with how often each occurred. Counts are exact (below 2^53). */
export interface ValueCounts {
  readonly bits: number;
  readonly values: Int32Array;
  readonly counts: Float64Array;
  /** samples counted */
  readonly samples: number;
  /** samples that did not fit the stated word length; they are in no count */
  readonly outOfRange: number;
}

export interface CodeSetOptions {
  /** distinct values after which a session over words wider than 16 bits gives up; default 200 000 (at most 2^24) */
  readonly limit?: number;
}

/** One channel, any block sizes. Memory: 512 KiB up to 16 bits; beyond that about 24 bytes for each value of the limit. */
export class CodeSetSession {
  readonly #bits: number;
  readonly #store: DenseCounts | SparseCounts;
  #samples = 0;

  constructor(bits: number, options: CodeSetOptions = {}) {
    if (!Number.isInteger(bits) || bits < 1 || bits > 32) throw new Error(`no word length: ${bits}`);
    this.#bits = bits;
    this.#store =
      bits <= 16 ? new DenseCounts(bits) : new SparseCounts(bits, Math.min(options.limit ?? 200_000, 2 ** 24));
  }

  push(samples: Int32Array, count: number = samples.length): void {
    this.#samples += count;
    this.#store.push(samples, count);
  }

  /** True once there were too many distinct values to keep; `finish` then answers undefined. */
  get gaveUp(): boolean {
    return this.#store.gaveUp;
  }

  finish(): ValueCounts | undefined {
    if (this.#store.gaveUp) return undefined;
    const { values, counts } = this.#store.sorted();
    const inRange = counts.reduce((sum, count) => sum + count, 0);
    return { bits: this.#bits, values, counts, samples: this.#samples, outOfRange: this.#samples - inRange };
  }
}

/** The values and counts of samples already in memory; for tests and short spans. */
export function countValues(samples: Int32Array, bits: number, options: CodeSetOptions = {}): ValueCounts | undefined {
  const session = new CodeSetSession(bits, options);
  session.push(samples);
  return session.finish();
}

/** Greatest common divisor of all values; 0 where every value is 0 or there is none. */
export function divisor(values: Int32Array): number {
  let common = 0;
  for (let n = 0; n < values.length && common !== 1; n++) common = gcd(common, Math.abs(values[n]));
  return common;
}

/** Low bits that are zero in every value: 0 to 31; 32 where every value is 0 or there is none. */
export function unusedLowBits(values: Int32Array): number {
  const used = values.reduce((bits, value) => bits | value, 0);
  return used === 0 ? 32 : 31 - Math.clz32(used & -used);
}

function gcd(a: number, b: number): number {
  return b === 0 ? a : gcd(b, a % b);
}

interface Sorted {
  readonly values: Int32Array;
  readonly counts: Float64Array;
}

/** One counter for every possible value. */
class DenseCounts {
  readonly gaveUp = false;
  readonly #half: number;
  readonly #table: Float64Array;

  constructor(bits: number) {
    this.#half = 2 ** (bits - 1);
    this.#table = new Float64Array(2 ** bits);
  }

  push(samples: Int32Array, count: number): void {
    const table = this.#table;
    const half = this.#half;
    const size = table.length;
    for (let n = 0; n < count; n++) {
      const at = samples[n] + half;
      if (at >= 0 && at < size) table[at]++;
    }
  }

  sorted(): Sorted {
    const occupied = this.#table.reduce((sum, count) => sum + (count > 0 ? 1 : 0), 0);
    const values = new Int32Array(occupied);
    const counts = new Float64Array(occupied);
    let to = 0;
    for (let at = 0; at < this.#table.length; at++) {
      if (this.#table[at] === 0) continue;
      values[to] = at - this.#half;
      counts[to++] = this.#table[at];
    }
    return { values, counts };
  }
}

/** Open addressing with linear probing, at most half full; emptied for good when the limit is passed. */
class SparseCounts {
  gaveUp = false;
  readonly #limit: number;
  readonly #lowest: number;
  readonly #highest: number;
  #keys: Int32Array;
  #counts: Float64Array;
  #distinct = 0;

  constructor(bits: number, limit: number) {
    this.#limit = limit;
    this.#lowest = -(2 ** (bits - 1));
    this.#highest = 2 ** (bits - 1) - 1;
    const size = 2 ** Math.ceil(Math.log2(2 * limit + 2));
    this.#keys = new Int32Array(size);
    this.#counts = new Float64Array(size);
  }

  push(samples: Int32Array, count: number): void {
    if (this.gaveUp) return;
    const keys = this.#keys;
    const counts = this.#counts;
    const mask = keys.length - 1;
    for (let n = 0; n < count; n++) {
      const value = samples[n];
      if (value < this.#lowest || value > this.#highest) continue;
      let at = slotOf(value, mask);
      while (counts[at] !== 0 && keys[at] !== value) at = (at + 1) & mask;
      if (counts[at]++ !== 0) continue;
      keys[at] = value;
      if (++this.#distinct > this.#limit) {
        this.#giveUp();
        return;
      }
    }
  }

  sorted(): Sorted {
    const slots = Array.from(this.#counts.keys()).filter((at) => this.#counts[at] > 0);
    slots.sort((a, b) => this.#keys[a] - this.#keys[b]);
    return {
      values: Int32Array.from(slots, (at) => this.#keys[at]),
      counts: Float64Array.from(slots, (at) => this.#counts[at]),
    };
  }

  #giveUp(): void {
    this.gaveUp = true;
    this.#keys = new Int32Array(0);
    this.#counts = new Float64Array(0);
  }
}

/** Multiplicative hashing (golden ratio), with the high bits folded in. */
function slotOf(value: number, mask: number): number {
  const mixed = Math.imul(value, 0x9e37_79b1);
  return (mixed ^ (mixed >>> 15)) & mask;
}

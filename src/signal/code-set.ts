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
  /** distinct values after which a session over words that use more than 16 bits gives up; default 200 000 (at most 2^24) */
  readonly limit?: number;
}

/** One channel, any block sizes. Memory: 768 KiB up to 16 bits; beyond that 24 to 48 bytes for each value of the limit. */
export class CodeSetSession {
  readonly #bits: number;
  readonly #store: DenseCounts | WideCounts;
  #samples = 0;

  constructor(bits: number, options: CodeSetOptions = {}) {
    if (!Number.isInteger(bits) || bits < 1 || bits > 32) throw new Error(`no word length: ${bits}`);
    this.#bits = bits;
    this.#store =
      bits <= 16 ? new DenseCounts(bits) : new WideCounts(bits, Math.min(options.limit ?? 200_000, 2 ** 24));
  }

  push(samples: Int32Array, count: number = samples.length): void {
    this.#samples += count;
    this.#store.push(samples, count);
  }

  get samples(): number {
    return this.#samples;
  }

  /** True once each value must be looked up in a table of those met, which takes several times longer than counting short words. */
  get isWide(): boolean {
    return this.#store.isWide;
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

const EMPTY: Sorted = { values: new Int32Array(0), counts: new Float64Array(0) };

/** One counter for every possible value; whole-number counters, emptied into exact sums before they can overflow. */
class DenseCounts {
  readonly gaveUp = false;
  readonly isWide = false;
  readonly #half: number;
  readonly #recent: Int32Array;
  readonly #sums: Float64Array;
  #sinceEmptied = 0;

  constructor(bits: number) {
    this.#half = 2 ** (bits - 1);
    this.#recent = new Int32Array(2 ** bits);
    this.#sums = new Float64Array(2 ** bits);
  }

  push(samples: Int32Array, count: number): void {
    if (this.#sinceEmptied + count >= 2 ** 31) this.#empty();
    this.#sinceEmptied += count;
    const table = this.#recent;
    const half = this.#half;
    const size = table.length;
    for (let n = 0; n < count; n++) {
      const at = (samples[n] + half) >>> 0;
      if (at < size) table[at]++;
    }
  }

  sorted(): Sorted {
    this.#empty();
    let occupied = 0;
    for (let at = 0; at < this.#sums.length; at++) if (this.#sums[at] > 0) occupied++;
    const values = new Int32Array(occupied);
    const counts = new Float64Array(occupied);
    let to = 0;
    for (let at = 0; at < this.#sums.length; at++) {
      if (this.#sums[at] === 0) continue;
      values[to] = at - this.#half;
      counts[to++] = this.#sums[at];
    }
    return { values, counts };
  }

  #empty(): void {
    for (let at = 0; at < this.#sums.length; at++) this.#sums[at] += this.#recent[at];
    this.#recent.fill(0);
    this.#sinceEmptied = 0;
  }
}

/** Dense while all low bits beyond 16 stay zero (a short word in a wide container), sparse from the first sample that uses them. */
class WideCounts {
  readonly #bits: number;
  readonly #limit: number;
  #dense: DenseCounts | undefined;
  #sparse: SparseCounts | undefined;
  #shifted = new Int32Array(0);

  constructor(bits: number, limit: number) {
    this.#bits = bits;
    this.#limit = limit;
  }

  get gaveUp(): boolean {
    return this.#sparse?.gaveUp ?? false;
  }

  get isWide(): boolean {
    return this.#sparse !== undefined;
  }

  push(samples: Int32Array, count: number): void {
    if (!this.#sparse && !this.#usesLowBits(samples, count)) {
      this.#dense ??= new DenseCounts(16);
      this.#pushShifted(this.#dense, samples, count);
      return;
    }
    this.#sparse ??= this.#toSparse();
    this.#sparse.push(samples, count);
  }

  sorted(): Sorted {
    if (this.#sparse) return this.#sparse.sorted();
    const { values, counts } = this.#dense?.sorted() ?? EMPTY;
    return { values: values.map((value) => value * 2 ** (this.#bits - 16)), counts };
  }

  #usesLowBits(samples: Int32Array, count: number): boolean {
    let used = 0;
    for (let n = 0; n < count; n++) used |= samples[n];
    return (used & (2 ** (this.#bits - 16) - 1)) !== 0;
  }

  #pushShifted(dense: DenseCounts, samples: Int32Array, count: number): void {
    if (this.#shifted.length < count) this.#shifted = new Int32Array(count);
    const shift = this.#bits - 16;
    for (let n = 0; n < count; n++) this.#shifted[n] = samples[n] >> shift;
    dense.push(this.#shifted, count);
  }

  #toSparse(): SparseCounts {
    const sparse = new SparseCounts(this.#bits, this.#limit);
    const { values, counts } = this.sorted();
    sparse.add(values, counts);
    this.#dense = undefined;
    this.#shifted = new Int32Array(0);
    return sparse;
  }
}

/** Open addressing with linear probing, at most half full, doubled when needed; emptied for good when the limit is passed. */
class SparseCounts {
  gaveUp = false;
  readonly #limit: number;
  readonly #lowest: number;
  readonly #highest: number;
  #keys = new Int32Array(4096);
  #counts = new Float64Array(4096);
  #distinct = 0;

  constructor(bits: number, limit: number) {
    this.#limit = limit;
    this.#lowest = -(2 ** (bits - 1));
    this.#highest = 2 ** (bits - 1) - 1;
  }

  push(samples: Int32Array, count: number): void {
    for (let n = 0; n < count && !this.gaveUp; ) n = this.#pushSome(samples, n, count);
  }

  /** Counts gathered elsewhere, for a table that is still empty. */
  add(values: Int32Array, sums: Float64Array): void {
    this.#distinct = values.length;
    if (this.#distinct > this.#limit) this.#giveUp();
    else this.#lay(values, sums, 2 ** Math.ceil(Math.log2(2 * values.length + 4096)));
  }

  /** Until the samples end or the table is half full; the index of the first sample that is left. */
  #pushSome(samples: Int32Array, from: number, count: number): number {
    const keys = this.#keys;
    const counts = this.#counts;
    const mask = keys.length - 1;
    const room = Math.min(this.#limit, keys.length / 2);
    for (let n = from; n < count; n++) {
      const value = samples[n];
      if (value < this.#lowest || value > this.#highest) continue;
      let at = slotOf(value, mask);
      while (counts[at] !== 0 && keys[at] !== value) at = (at + 1) & mask;
      if (counts[at]++ !== 0) continue;
      keys[at] = value;
      if (++this.#distinct <= room) continue;
      if (this.#distinct > this.#limit) this.#giveUp();
      else this.#grow();
      return n + 1;
    }
    return count;
  }

  #grow(): void {
    const { values, counts } = this.#used();
    this.#lay(values, counts, 2 * this.#keys.length);
  }

  #lay(values: Int32Array, sums: Float64Array, size: number): void {
    const keys = new Int32Array(size);
    const counts = new Float64Array(size);
    for (let n = 0; n < values.length; n++) {
      let at = slotOf(values[n], size - 1);
      while (counts[at] !== 0) at = (at + 1) & (size - 1);
      keys[at] = values[n];
      counts[at] = sums[n];
    }
    this.#keys = keys;
    this.#counts = counts;
  }

  #used(): Sorted {
    const values = new Int32Array(this.#distinct);
    const counts = new Float64Array(this.#distinct);
    for (let at = 0, n = 0; at < this.#keys.length; at++) {
      if (this.#counts[at] === 0) continue;
      values[n] = this.#keys[at];
      counts[n++] = this.#counts[at];
    }
    return { values, counts };
  }

  sorted(): Sorted {
    const { values } = this.#used();
    values.sort();
    const counts = new Float64Array(values.length);
    for (let n = 0; n < values.length; n++) counts[n] = this.#counts[this.#slotWith(values[n])];
    return { values, counts };
  }

  #slotWith(value: number): number {
    const mask = this.#keys.length - 1;
    let at = slotOf(value, mask);
    while (this.#keys[at] !== value || this.#counts[at] === 0) at = (at + 1) & mask;
    return at;
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

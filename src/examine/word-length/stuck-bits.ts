// Bits that never move although bits above and below them do: a broken line in an interface, a converter's fault. Not for bits below the
// word (padding) nor above a quiet signal, which move with the sign.
import type { StepCounter } from '../../signal/index.ts';

export interface StuckBit {
  /** 0 = lowest bit of the container */
  readonly bit: number;
  readonly value: 0 | 1;
}

/** Which values occur, by their upper 16 bits: 64 KiB, one mark a sample. */
export class ValueMarks {
  readonly #marks = new Uint8Array(65_536);
  readonly #shift: number;

  constructor(bits: number) {
    this.#shift = Math.max(0, bits - 16);
  }

  push(plane: Int32Array): void {
    const marks = this.#marks;
    const shift = this.#shift;
    for (let i = 0; i < plane.length; i++) marks[(plane[i] >> shift) & 65_535] = 1;
  }

  /**
   * log2 of the chance that a sound bit never moved. Each different value of the bits above it is a coin of its own; where the sound
   * runs through neighbouring ones, the values that occur also end exactly where the bit would turn, on either side.
   */
  log2Chance(bit: number): number {
    const drop = Math.max(0, bit + 1 - this.#shift);
    const half = 2 ** (drop - 1);
    const extents = new Map<number, { low: number; high: number }>();
    for (let at = 0; at < this.#marks.length; at++) {
      if (!this.#marks[at]) continue;
      const value = at >= 32_768 ? at - 65_536 : at;
      const offset = drop === 0 ? 0 : value & (half - 1);
      const extent = extents.get(value >> drop);
      if (!extent) extents.set(value >> drop, { low: offset, high: offset });
      else {
        extent.low = Math.min(extent.low, offset);
        extent.high = Math.max(extent.high, offset);
      }
    }
    let sum = 1 - extents.size;
    if (half < 2) return sum;
    for (const [above, { low, high }] of extents) {
      if (extents.has(above - 1) && extents.has(above + 1))
        sum += Math.log2((low + 1) / half) + Math.log2((half - high) / half);
    }
    return sum;
  }
}

/** Bits that were the same in every sample, with a bit that moved on either side. */
export function stuckBits(counter: StepCounter, bits: number): StuckBit[] {
  const moving = counter.or & ~counter.and;
  if (counter.samples === 0 || moving === 0) return [];
  const lowest = 31 - Math.clz32(moving & -moving);
  const found: StuckBit[] = [];
  for (let bit = lowest + 1; bit < bits - 1; bit++) {
    const isStuck = ((moving >>> bit) & 1) === 0 && moving >>> (bit + 1) !== 0;
    if (isStuck) found.push({ bit, value: ((counter.and >>> bit) & 1) as 0 | 1 });
  }
  return found;
}

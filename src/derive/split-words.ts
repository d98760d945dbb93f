// Words that were spread over two tracks, upper bits on one and lower bits on the other (formats.md 7), put together again. Which tracks belong
// together is found by examine/split-words or declared; here it is only done.
import { TapeproofError } from '../base/index.ts';

export interface SplitPair {
  /** 1-based file channels */
  readonly upper: number;
  readonly lower: number;
  /** bits on the lower track */
  readonly lowerBits: number;
  /** zero bits below the word on each track: 8 for 16 bits in a container of 24 */
  readonly upperShift: number;
  readonly lowerShift: number;
  /** the upper word was rounded, not cut: the lower bits count from -2^(k-1) */
  readonly isSigned: boolean;
}

/** Whole numbers of (container - upperShift + lowerBits) bits. */
export function joinWords(upper: Int32Array, lower: Int32Array, pair: SplitPair): Int32Array {
  const { lowerBits, upperShift, lowerShift, isSigned } = pair;
  const whole = 2 ** lowerBits;
  return upper.map((x, i) => {
    const bits = (lower[i] >> lowerShift) & (whole - 1);
    return (x >> upperShift) * whole + (isSigned && bits >= whole / 2 ? bits - whole : bits);
  });
}

export function joinedBits(containerBits: number, { lowerBits, upperShift }: SplitPair): number {
  const bits = containerBits - upperShift + lowerBits;
  if (bits <= 32) return bits;
  throw new TapeproofError('unsupported', 'a joined word of more than 32 bits', { found: `${bits} bits` });
}

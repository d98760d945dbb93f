// Whether a track can hold the lower bits of words whose upper bits are elsewhere: few bits move, the same few all along. Not for
// saying whose they are (upper-test.ts).

/** What moves in a track, gathered over windows. */
export class MovingBits {
  low = 0;
  high = 0;
  #or = 0;
  #nonZero = 0;

  push(plane: Int32Array): void {
    for (const x of plane) {
      this.#or |= x;
      if (x !== 0) this.#nonZero++;
      if (x < this.low) this.low = x;
      if (x > this.high) this.high = x;
    }
  }

  get nonZero(): number {
    return this.#nonZero;
  }

  /** zero bits below the word */
  get shift(): number {
    return this.#or === 0 ? 0 : 31 - Math.clz32(this.#or & -this.#or);
  }
}

export interface LowerShape {
  readonly lowerShift: number;
  readonly lowerBits: number;
}

/** One track holds 4 or 8 bits of 20 or 24; between and around is left room. */
const FEWEST_BITS = 3;
const MOST_BITS = 10;

/** Undefined for a track that moves in more or fewer bits, or hardly at all. */
export function lowerShape(moving: MovingBits, fewestSamples: number): LowerShape | undefined {
  if (moving.nonZero < fewestSamples) return undefined;
  const lowerShift = moving.shift;
  const [low, high] = [moving.low >> lowerShift, moving.high >> lowerShift];
  // Either 0 .. 255, or -128 .. 127 where the bits stand at the top of the word or were sign-extended.
  const lowerBits = low >= 0 ? 32 - Math.clz32(high) : 1 + Math.max(32 - Math.clz32(high), 32 - Math.clz32(~low));
  return lowerBits >= FEWEST_BITS && lowerBits <= MOST_BITS ? { lowerShift, lowerBits } : undefined;
}

// The quantising step a stream of integers was made with: the largest power of two that (nearly) all its samples are
// multiples of. Not a word-length verdict; that is examine/word-length.
import type { LowestBits, PlaneStatistics } from './simd/plane-statistics.ts';
import { type WindowFacts, windowFacts } from './simd/window-facts.ts';

/** Counts, per channel, how many trailing zero bits the non-zero samples have. */
export class StepCounter {
  /** histogram over 0..31 trailing zeros */
  readonly trailingZeros = new Float64Array(32);
  or = 0;
  and = -1;
  zeros = 0;
  samples = 0;

  push(plane: Int32Array, from = 0, to = plane.length): void {
    const histogram = this.trailingZeros;
    let or = this.or;
    let and = this.and;
    let zeros = 0;
    for (let i = from; i < to; i++) {
      const x = plane[i];
      or |= x;
      and &= x;
      if (x === 0) zeros++;
      else histogram[31 - Math.clz32(x & -x)]++;
    }
    this.or = or;
    this.and = and;
    this.zeros += zeros;
    this.samples += to - from;
  }

  /** The same as `push`, and what else was learned on the way. */
  pushWindow(plane: Int32Array): WindowFacts {
    const facts = windowFacts(plane, this.trailingZeros);
    this.or |= facts.or;
    this.and &= facts.and;
    this.zeros += facts.zeros;
    this.samples += facts.samples;
    return facts;
  }

  /** The same as a push of the plane that was counted. */
  add(plane: PlaneStatistics): void {
    this.addLowest(plane);
    this.or |= plane.or;
    this.and &= plane.and;
  }

  /** Enough for the step; `or` and `and` stay as they are. */
  addLowest({ samples, zeros, trailingZeros }: LowestBits): void {
    for (let k = 0; k < 32; k++) this.trailingZeros[k] += trailingZeros[k];
    this.zeros += zeros;
    this.samples += samples;
  }

  /**
   * The exponent that `stepExponent(share)` gives all the way while the plane is pushed, sample by sample, where that can be
   * told from its totals; undefined where it may change on the way. Counts only grow, so the ends bound what lies between.
   */
  steadyExponent(plane: LowestBits, share = 1): number | undefined {
    const before = this.samples - this.zeros;
    const after = before + plane.samples - plane.zeros;
    if (after === 0) return 0;
    let least = 0;
    let most = 0;
    for (let k = 0; k < 32; k++) {
      if (most > (1 - share) * before) return undefined;
      least += this.trailingZeros[k];
      most += this.trailingZeros[k] + plane.trailingZeros[k];
      if (least > (1 - share) * after) return k;
    }
    return undefined;
  }

  /** Exponent k of the step 2^k that at least `share` of the non-zero samples are multiples of; 0 when all are zero. */
  stepExponent(share = 1): number {
    const nonZero = this.samples - this.zeros;
    if (nonZero === 0) return 0;
    let below = 0;
    for (let k = 0; k < 32; k++) {
      below += this.trailingZeros[k];
      if (below > (1 - share) * nonZero) return k;
    }
    return 0;
  }
}

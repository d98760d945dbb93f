// The plain twins of the kernels: what each of them means, for any Int32 samples, equal to the last bit. Used where the
// samples are few or wider than a kernel takes, and as the reference of the tests.
import type { PlaneStatistics } from './plane-statistics.ts';
import type { WindowFacts } from './window-facts.ts';

export function plainStatistics(plane: Int32Array): PlaneStatistics {
  const trailingZeros = new Uint32Array(32);
  const octaves = new Uint32Array(264);
  const total = { min: Number.POSITIVE_INFINITY, max: Number.NEGATIVE_INFINITY, or: 0, and: -1, sum: 0, zeros: 0 };
  const squares = { high: 0, low: 0 };
  for (let i = 0; i < plane.length; i++) {
    const x = plane[i];
    const magnitude = Math.abs(x);
    total.min = Math.min(total.min, x);
    total.max = Math.max(total.max, x);
    total.or |= x;
    total.and &= x;
    total.sum += x;
    addSquare(squares, magnitude);
    if (x === 0) total.zeros++;
    else trailingZeros[31 - Math.clz32(x & -x)]++;
    octaves[octaveOf(x)]++;
  }
  return {
    ...total,
    samples: plane.length,
    squaresHigh: squares.high,
    squaresLow: squares.low,
    trailingZeros,
    octaves,
  };
}

export function plainFacts(plane: Int32Array, trailingZeros: Float64Array): WindowFacts {
  const facts = { samples: plane.length, or: 0, and: -1, zeros: 0, repeats: 0, magnitudes: 0 };
  let [min, max] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < plane.length; i++) {
    const x = plane[i];
    min = Math.min(min, x);
    max = Math.max(max, x);
    facts.or |= x;
    facts.and &= x;
    facts.magnitudes += Math.abs(x);
    if (i > 0 && x === plane[i - 1]) facts.repeats++;
    if (x === 0) facts.zeros++;
    else trailingZeros[31 - Math.clz32(x & -x)]++;
  }
  return { ...facts, min, max };
}

/** The bin of `octaves` that a sample is counted in. */
export function octaveOf(x: number): number {
  const magnitude = Math.abs(x);
  const exponent = 32 - Math.clz32(magnitude);
  return (exponent << 3) | (exponent > 3 ? (magnitude >>> (exponent - 4)) & 7 : 0);
}

/** Schoolbook multiplication in halves of 16 bits, because a product of 62 bits does not fit into a float. */
function addSquare(sum: { high: number; low: number }, magnitude: number): void {
  const a = Math.floor(magnitude / 0x1_0000);
  const b = magnitude % 0x1_0000;
  const low = 2 * a * b * 0x1_0000 + b * b + sum.low;
  sum.high += a * a + Math.floor(low / 2 ** 32);
  sum.low = low % 2 ** 32;
}

/** Per cell of `cellFrames` the sum of |x[i + 1] - x[i]|; sample i of a cell lies at x[i + 1], one of context at both ends. */
export function plainFirstDifferenceSums(x: Int32Array, cells: number, cellFrames: number, out: Float64Array): void {
  for (let cell = 0, i = 0; cell < cells; cell++) {
    let sum = 0;
    for (const end = i + cellFrames; i < end; i++) sum += Math.abs(x[i + 1] - x[i]);
    out[cell] = sum;
  }
}

/** The same of |2 x[i + 1] - x[i] - x[i + 2]|. */
export function plainSecondDifferenceSums(x: Int32Array, cells: number, cellFrames: number, out: Float64Array): void {
  for (let cell = 0, i = 0; cell < cells; cell++) {
    let sum = 0;
    for (const end = i + cellFrames; i < end; i++) sum += Math.abs(2 * x[i + 1] - x[i] - x[i + 2]);
    out[cell] = sum;
  }
}

/** Indices i where twice x[i + 1] is within `most` of the sum of its neighbours, unless all three are equal; their number. */
export function plainMeanHits(x: Int32Array, frames: number, most: number, hits: Int32Array): number {
  let count = 0;
  for (let i = 0; i < frames; i++) {
    const second = 2 * x[i + 1] - x[i] - x[i + 2];
    if (second <= most && second >= -most && !(second === 0 && x[i] === x[i + 1])) hits[count++] = i;
  }
  return count;
}

/** Indices i where x[i + 1] repeats x[i], and one of it and the next is not zero; their number. */
export function plainHoldHits(x: Int32Array, frames: number, hits: Int32Array): number {
  let count = 0;
  for (let i = 0; i < frames; i++) if (x[i + 1] === x[i] && (x[i + 1] | x[i + 2]) !== 0) hits[count++] = i;
  return count;
}

/** Calls `run` for every run of zeros of at least `shortest` samples, and for shorter ones that touch an end of the plane. */
export function plainZeroRuns(plane: Int32Array, shortest: number, run: (start: number, end: number) => void): void {
  for (let i = 0; i < plane.length; i++) {
    if (plane[i] !== 0) continue;
    const start = i;
    while (i < plane.length && plane[i] === 0) i++;
    if (i - start >= shortest || start === 0 || i === plane.length) run(start, i);
  }
}

/** First index in [from, to) at which the planes differ; `to` where they do not. */
export function plainFirstDifference(a: Int32Array, b: Int32Array, from: number, to: number): number {
  let i = from;
  while (i < to && a[i] === b[i]) i++;
  return i;
}

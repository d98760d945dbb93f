// What several detectors want to know of one plane, in one pass over it. Not for what it means.
import { type Machine, machineOf, placed } from './machine.ts';
import { octaveOf, plainStatistics } from './plain.ts';

/** What the quantising step is told from. */
export interface LowestBits {
  readonly samples: number;
  readonly zeros: number;
  /** [k] = samples that are not zero and have k trailing zero bits, k = 0..31 */
  readonly trailingZeros: Uint32Array;
}

export interface PlaneStatistics extends LowestBits {
  /** +Infinity and -Infinity where there is no sample */
  readonly min: number;
  readonly max: number;
  readonly or: number;
  readonly and: number;
  readonly sum: number;
  /** sum of squares = squaresHigh * 2^32 + squaresLow; both parts exact */
  readonly squaresHigh: number;
  readonly squaresLow: number;
  /** [(e << 3) | m]: e = bits of the magnitude, 0..32; m = the three bits below the highest, 0 where e <= 3 */
  readonly octaves: Uint32Array;
}

export const OCTAVE_BINS = 264;
const CHUNK = 65_536;
/** Samples from here on are wider than 24 bits. */
const NARROW = 2 ** 23;
/** Below this the plain loop is quicker than the way into the kernels' memory. */
const WORTHWHILE = 256;

/** Exact for any Int32 samples, up to 2^32 of them. */
export function planeStatistics(plane: Int32Array): PlaneStatistics {
  if (plane.length < WORTHWHILE) return plainStatistics(plane);
  let whole: PlaneStatistics | undefined;
  for (let at = 0; at < plane.length; at += CHUNK) {
    const part = chunkStatistics(machineOf(plane), plane.subarray(at, at + CHUNK));
    whole = whole ? together(whole, part) : part;
  }
  return whole as PlaneStatistics;
}

/** The part of the statistics that costs least; exact for any Int32 samples. */
export function lowestBits(plane: Int32Array): LowestBits {
  const trailingZeros = new Uint32Array(32);
  const it = machineOf(plane);
  for (let at = 0; at < plane.length; at += CHUNK) {
    const samples = plane.subarray(at, at + CHUNK);
    const from = placed(it, samples, it.at.plane);
    it.kernels.lowestBits(from, samples.length, it.at.levels, it.at.lowestBits);
    for (let k = 0; k < 32; k++) trailingZeros[k] += it.words[it.at.lowestBits / 4 + k];
  }
  return { samples: plane.length, zeros: plane.length - total(trailingZeros), trailingZeros };
}

function total(counts: Uint32Array): number {
  return counts.reduce((all, count) => all + count, 0);
}

/** False when the totals rule out that any sample has this value; a first test before a search. */
export function mayHold({ min, max, or, and, zeros, trailingZeros, octaves }: PlaneStatistics, value: number): boolean {
  if (value < min || value > max || (value & ~or) !== 0 || (and & ~value) !== 0) return false;
  if (value === 0) return zeros > 0;
  return trailingZeros[31 - Math.clz32(value & -value)] > 0 && octaves[octaveOf(value)] > 0;
}

function chunkStatistics(it: Machine, samples: Int32Array): PlaneStatistics {
  const { at } = it;
  const from = placed(it, samples, at.plane);
  it.kernels.narrowSums(from, samples.length, at.sums);
  const [least, greatest] = it.words.subarray(at.sums / 4, at.sums / 4 + 2);
  if (least < -NARROW || greatest >= NARROW) it.kernels.sums(from, samples.length, at.sums);
  it.kernels.octaves(from, samples.length, at.octaves);
  it.kernels.lowestBits(from, samples.length, at.levels, at.lowestBits);
  const [min, max, or, and] = it.words.subarray(at.sums / 4, at.sums / 4 + 4);
  const [sum, squaresLow, squaresHigh] = it.reals.subarray(at.sums / 8 + 2, at.sums / 8 + 5);
  const counts = (address: number, length: number) =>
    Uint32Array.from(it.words.subarray(address / 4, address / 4 + length));
  const trailingZeros = counts(at.lowestBits, 32);
  return {
    samples: samples.length,
    min,
    max,
    or,
    and,
    sum,
    squaresHigh: squaresHigh + Math.floor(squaresLow / 2 ** 32),
    squaresLow: squaresLow % 2 ** 32,
    zeros: samples.length - total(trailingZeros),
    trailingZeros,
    octaves: counts(at.octaves, OCTAVE_BINS),
  };
}

function together(a: PlaneStatistics, b: PlaneStatistics): PlaneStatistics {
  const low = a.squaresLow + b.squaresLow;
  return {
    samples: a.samples + b.samples,
    min: Math.min(a.min, b.min),
    max: Math.max(a.max, b.max),
    or: a.or | b.or,
    and: a.and & b.and,
    sum: a.sum + b.sum,
    squaresHigh: a.squaresHigh + b.squaresHigh + Math.floor(low / 2 ** 32),
    squaresLow: low % 2 ** 32,
    zeros: a.zeros + b.zeros,
    trailingZeros: a.trailingZeros.map((count, k) => count + b.trailingZeros[k]),
    octaves: a.octaves.map((count, k) => count + b.octaves[k]),
  };
}

// Where a row of samples stood before, by a table of hashes over five of them, one window in four remembered: the first look for
// repeated stretches. Whatever is equal for eight samples holds a remembered window. Equal bits in the kernel and in its plain twin.
import { copyIn, machineOf, placed } from './machine.ts';

/** Samples of a window. */
export const MATCH_WINDOW = 5;
/** Equal samples in a row that are found without fail, unless the same window stood nearer. */
export const SHORTEST_MATCH = 8;
/** Windows that end at frames one less than a multiple of this are remembered. */
const EVERY = 4;
const SLOT_BITS = 12;
/** Factors of the halves of a sample, low and high, by how far it is back. Any odd numbers below 2^15 would do. */
const FACTORS = [0x4c3759df, 0x62b5a34d, 0x3a8f7e1b, 0x5d1b6c95, 0x71c92f67];
const SPREADER = 0x9e3779b1;
/** Most samples for the kernel's area, those before included. */
const MOST_FRAMES = 65_536;

/**
 * Two words in each slot, the newer window first: sixteen more bits of the hash, and the last bits of the frame of the window's last
 * sample. Two, as a later window with the same first bits must not hide the one looked for.
 */
export function newWindowTable(): Int32Array {
  return new Int32Array(2 << SLOT_BITS);
}

export interface Distances {
  readonly shortest: number;
  /** below 2^16 - SHORTEST_MATCH */
  readonly longest: number;
}

/**
 * Looks up every window that ends at samples[from] or later, and remembers some. `longest` + SHORTEST_MATCH samples lie before `from`;
 * `firstFrame` is the number of samples[from]. Pairs of index after `from` and distance, ascending, where at least SHORTEST_MATCH samples in
 * a row are equal to those that far before, or MATCH_WINDOW up to the end of the samples.
 */
export function windowMatches(
  samples: Int32Array,
  from: number,
  firstFrame: number,
  table: Int32Array,
  distances: Distances,
): Int32Array {
  const { shortest, longest } = distances;
  const first = from - longest - SHORTEST_MATCH;
  if (samples.length - first > MOST_FRAMES) return plainWindowMatches(samples, from, firstFrame, table, distances);
  const it = machineOf(samples);
  const { at } = it;
  const start = placed(it, samples.subarray(first), at.plane);
  copyIn(it, table, at.second);
  it.words.set([...FACTORS, SPREADER], at.coefficients / 4);
  const input = start + 4 * (from - first);
  const frames = samples.length - from;
  const count = it.kernels.windowMatches(
    input,
    frames,
    firstFrame,
    at.second,
    shortest,
    longest,
    at.coefficients,
    at.list,
  );
  table.set(it.words.subarray(at.second / 4, at.second / 4 + table.length));
  return it.words.slice(at.list / 4, at.list / 4 + 2 * count);
}

/**
 * Samples and those that follow them, side by side where the kernels find them without another copy. A view that only `windowMatches` leaves as it is:
 * the next of any other kernel may write over it.
 */
export function besideEachOther(before: Int32Array, then: Int32Array): Int32Array {
  const it = machineOf(then);
  const { plane } = it.at;
  copyIn(it, before, plane);
  copyIn(it, then, plane + 4 * before.length);
  return it.words.subarray(plane / 4, plane / 4 + before.length + then.length);
}

/** The plain twin. */
export function plainWindowMatches(
  samples: Int32Array,
  from: number,
  firstFrame: number,
  table: Int32Array,
  { shortest, longest }: Distances,
): Int32Array {
  const found: number[] = [];
  for (let i = from; i < samples.length; i++) {
    let hash = 0;
    for (let k = 0; k < MATCH_WINDOW; k++) hash = (hash + halves(samples[i - k], FACTORS[k])) | 0;
    const key = Math.imul(hash ^ (hash >>> 15), SPREADER);
    const slot = 2 * (key >>> (32 - SLOT_BITS));
    const tag = (key >>> 4) << 16;
    const frame = firstFrame + i - from;
    for (const known of [table[slot], table[slot + 1]]) {
      const distance = (frame - known) & 0xffff;
      if ((known ^ tag) >>> 16 !== 0 || distance < shortest || distance > longest) continue;
      if (!isLongEnough(samples, i, distance)) continue;
      found.push(i - from, distance);
      break;
    }
    if (frame % EVERY !== EVERY - 1) continue;
    table[slot + 1] = table[slot];
    table[slot] = tag | (frame & 0xffff);
  }
  return Int32Array.from(found);
}

function halves(sample: number, factors: number): number {
  return Math.imul((sample << 16) >> 16, (factors << 16) >> 16) + Math.imul(sample >> 16, factors >> 16);
}

function isLongEnough(samples: Int32Array, at: number, distance: number): boolean {
  const isEqual = (i: number) => samples[i] === samples[i - distance];
  let equal = 0;
  while (equal < SHORTEST_MATCH && isEqual(at - equal)) equal++;
  if (equal < MATCH_WINDOW) return false;
  for (let next = at + 1; equal < SHORTEST_MATCH; next++, equal++) {
    if (next === samples.length) return true;
    if (!isEqual(next)) return false;
  }
  return true;
}

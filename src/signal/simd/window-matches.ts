// Where a window of eight samples stood before, by a table of hashes: the first look for repeated stretches. A match says only
// that the hashes are equal; the samples must be compared. Equal bits in the kernel and in its plain twin.
import { AT, copyIn, machine } from './machine.ts';

export const MATCH_WINDOW = 8;
const SLOT_BITS = 14;
const MULTIPLIER = 0x2c9277b5;
const SPREADER = 0x9e3779b1;
/** Frames of one part; matches take two words each and must fit into the list. */
const PART = 32_768;
/** Below this the way of the table into the kernels' memory and back costs more than the scan. */
const WORTHWHILE = 4096;
/** Places of the kernel's input after its context, in bytes. */
const INPUT = AT.plane + 64;

/** Pairs of hash and frame. The frames begin out of reach of any distance asked for. */
export function newWindowTable(): Int32Array {
  return new Int32Array(2 << SLOT_BITS).map((_, k) => (k % 2 ? -(2 ** 30) : 0));
}

/** Called with the index in the plane of the window's last sample, and the frame of the last sample of the earlier window. */
export type WindowMatch = (index: number, before: number) => void;

export interface Distances {
  readonly shortest: number;
  readonly longest: number;
}

/**
 * Looks up and enters every window that ends in the plane. `context`: the eight samples before it; `firstFrame`: the number of its first
 * sample. At most `PART` frames; matches in ascending order, after the table is complete.
 */
export function windowMatches(
  context: Int32Array,
  plane: Int32Array,
  firstFrame: number,
  table: Int32Array,
  distances: Distances,
): Int32Array {
  const whole = plane.length & ~3;
  if (plane.length < WORTHWHILE || plane.length > PART) {
    return plainWindowMatches(context, plane, firstFrame, table, distances);
  }
  const it = machine();
  copyIn(it, context, INPUT - 4 * MATCH_WINDOW);
  copyIn(it, plane, INPUT);
  copyIn(it, table, AT.second);
  const { shortest, longest } = distances;
  const count = it.kernels.windowMatches(INPUT, whole, firstFrame, AT.second, shortest, longest, AT.list);
  table.set(it.words.subarray(AT.second / 4, AT.second / 4 + table.length));
  const found = it.words.slice(AT.list / 4, AT.list / 4 + 2 * count);
  if (whole === plane.length) return found;
  const rest = plainWindowMatches(
    plane.subarray(whole - MATCH_WINDOW, whole),
    plane.subarray(whole),
    firstFrame + whole,
    table,
    distances,
  );
  return Int32Array.of(...found, ...rest.map((value, k) => (k % 2 ? value : value + whole)));
}

/** The plain twin. */
export function plainWindowMatches(
  context: Int32Array,
  plane: Int32Array,
  firstFrame: number,
  table: Int32Array,
  { shortest, longest }: Distances,
): Int32Array {
  const found: number[] = [];
  const oldest = Array.from({ length: MATCH_WINDOW }).reduce<number>((power) => Math.imul(power, MULTIPLIER), 1);
  let hash = 0;
  for (let k = 0; k < MATCH_WINDOW; k++) hash = (Math.imul(hash, MULTIPLIER) + context[k]) | 0;
  for (let i = 0; i < plane.length; i++) {
    const leaving = i < MATCH_WINDOW ? context[i] : plane[i - MATCH_WINDOW];
    hash = (Math.imul(hash, MULTIPLIER) + plane[i] - Math.imul(leaving, oldest)) | 0;
    const slot = (Math.imul(hash, SPREADER) >>> (32 - SLOT_BITS)) << 1;
    const distance = (firstFrame + i - table[slot + 1]) | 0;
    if (table[slot] === hash && distance >= shortest && distance <= longest) found.push(i, table[slot + 1]);
    table[slot] = hash;
    table[slot + 1] = firstFrame + i;
  }
  return Int32Array.from(found);
}

// The kernels as functions over planes: copy in, run, read out, in parts that fit. What each means: plain.ts.
import { type Machine, machineOf, PLANE_FRAMES, placed } from './machine.ts';
import { plainFirstDifference, plainZeroRuns } from './plain.ts';

/** Widest samples of the kernels that take differences: those of 32 bits would pass beyond 32 bits. */
export const MOST_KERNEL_BITS = 24;
/** Frames of one part: a multiple of every cell length up to 256. */
const PART = 65_536;

/**
 * For cells of `cellFrames` (a divisor of 256, a multiple of 8): the sum of |second difference| of each cell to `sums`, and ascending
 * indices with |second difference| <= `most`, flat ones left out, to `hits`; returns their number. `x` holds cells * cellFrames + 2
 * samples of at most 24 bits. As plainSecondDifferenceSums and plainMeanHits.
 */
export function meanCells(
  x: Int32Array,
  cells: number,
  cellFrames: number,
  most: number,
  sums: Float64Array,
  hits: Int32Array,
): number {
  const it = machineOf(x);
  return inParts(it, x, cells, cellFrames, sums, hits, (from, count) =>
    it.kernels.meanCells(from, count, cellFrames, most, it.at.second, it.at.list),
  );
}

/** The same with first differences, and indices of samples that repeat the one before. As plainFirstDifferenceSums and plainHoldHits. */
export function holdCells(
  x: Int32Array,
  cells: number,
  cellFrames: number,
  sums: Float64Array,
  hits: Int32Array,
): number {
  const it = machineOf(x);
  return inParts(it, x, cells, cellFrames, sums, hits, (from, count) =>
    it.kernels.holdCells(from, count, cellFrames, it.at.second, it.at.list),
  );
}

function inParts(
  it: Machine,
  x: Int32Array,
  cells: number,
  cellFrames: number,
  sums: Float64Array,
  hits: Int32Array,
  scan: (from: number, cells: number) => number,
): number {
  const { second, list } = it.at;
  const most = PART / cellFrames;
  let found = 0;
  for (let cell = 0; cell < cells; cell += most) {
    const count = Math.min(most, cells - cell);
    const at = cell * cellFrames;
    const from = placed(it, x.subarray(at, at + count * cellFrames + 2), it.at.plane);
    const here = scan(from, count);
    sums.set(it.reals.subarray(second / 8, second / 8 + count), cell);
    for (let k = 0; k < here; k++) hits[found++] = at + it.words[list / 4 + k];
  }
  return found;
}

/** Runs of zeros, as plainZeroRuns. */
export function zeroRuns(plane: Int32Array, shortest: number, run: (start: number, end: number) => void): void {
  if (plane.length > PART || plane.length < 256) {
    plainZeroRuns(plane, shortest, run);
    return;
  }
  const it = machineOf(plane);
  const { list } = it.at;
  const count = it.kernels.zeroRuns(placed(it, plane, it.at.plane), plane.length, shortest, list);
  // Copied out: whoever is called may use the kernels again.
  const runs = it.words.slice(list / 4, list / 4 + 2 * count);
  for (let k = 0; k < count; k++) run(runs[2 * k], runs[2 * k + 1]);
}

/** Reads that differ often do so soon: the copy into the kernel pays only after some equal samples. */
const SOON = 64;
const FIRST_PART = 1024;

/** First index in [from, to) at which the planes differ; `to` where they do not. */
export function firstDifference(a: Int32Array, b: Int32Array, from: number, to: number): number {
  let at = plainFirstDifference(a, b, from, Math.min(to, from + SOON));
  if (at < Math.min(to, from + SOON)) return at;
  const it = machineOf(a);
  for (let part = FIRST_PART; at < to; part = Math.min(2 * part, PART / 4)) {
    const count = Math.min(part, to - at, PLANE_FRAMES);
    const one = placed(it, a.subarray(at, at + count), it.at.plane);
    const other = placed(it, b.subarray(at, at + count), it.at.second);
    const equal = it.kernels.firstDifference(one, other, count);
    at += equal;
    if (equal < count) return at;
  }
  return at;
}

/** Sum of plane[from .. to - 1]; exact for up to 2^21 samples. */
export function sumBetween(plane: Int32Array, from: number, to: number): number {
  const it = machineOf(plane);
  let sum = 0;
  for (let at = from; at < to; at += PART) {
    const count = Math.min(PART, to - at);
    sum += it.kernels.total(placed(it, plane.subarray(at, at + count), it.at.plane), count);
  }
  return sum;
}

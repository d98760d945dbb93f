// The kernels as functions over planes: copy in, run, read out, in parts that fit. What each means: plain.ts.
import { AT, copyIn, machine, PLANE_FRAMES } from './machine.ts';
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
  const { kernels } = machine();
  return inParts(x, cells, cellFrames, sums, hits, kernels.secondDifferenceSums, (frames) =>
    kernels.meanHits(AT.plane, frames, most, AT.list),
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
  const { kernels } = machine();
  return inParts(x, cells, cellFrames, sums, hits, kernels.firstDifferenceSums, (frames) =>
    kernels.holdHits(AT.plane, frames, AT.list),
  );
}

type SumKernel = (from: number, cells: number, cellFrames: number, out: number) => void;

function inParts(
  x: Int32Array,
  cells: number,
  cellFrames: number,
  sums: Float64Array,
  hits: Int32Array,
  sum: SumKernel,
  scan: (frames: number) => number,
): number {
  const it = machine();
  const most = PART / cellFrames;
  let found = 0;
  for (let cell = 0; cell < cells; cell += most) {
    const count = Math.min(most, cells - cell);
    const at = cell * cellFrames;
    copyIn(it, x.subarray(at, at + count * cellFrames + 2), AT.plane);
    sum(AT.plane, count, cellFrames, AT.list);
    sums.set(it.reals.subarray(AT.list / 8, AT.list / 8 + count), cell);
    const here = scan(count * cellFrames);
    for (let k = 0; k < here; k++) hits[found++] = at + it.words[AT.list / 4 + k];
  }
  return found;
}

/** Runs of zeros, as plainZeroRuns. */
export function zeroRuns(plane: Int32Array, shortest: number, run: (start: number, end: number) => void): void {
  if (plane.length > PART || plane.length < 256) {
    plainZeroRuns(plane, shortest, run);
    return;
  }
  const it = machine();
  copyIn(it, plane, AT.plane);
  const count = it.kernels.zeroRuns(AT.plane, plane.length, shortest, AT.list);
  // Copied out: whoever is called may use the kernels again.
  const runs = it.words.slice(AT.list / 4, AT.list / 4 + 2 * count);
  for (let k = 0; k < count; k++) run(runs[2 * k], runs[2 * k + 1]);
}

/** Reads that differ often do so soon: the copy into the kernel pays only after some equal samples. */
const SOON = 64;
const FIRST_PART = 1024;

/** First index in [from, to) at which the planes differ; `to` where they do not. */
export function firstDifference(a: Int32Array, b: Int32Array, from: number, to: number): number {
  let at = plainFirstDifference(a, b, from, Math.min(to, from + SOON));
  if (at < Math.min(to, from + SOON)) return at;
  const it = machine();
  for (let part = FIRST_PART; at < to; part = Math.min(2 * part, PART / 4)) {
    const count = Math.min(part, to - at, PLANE_FRAMES);
    copyIn(it, a.subarray(at, at + count), AT.plane);
    copyIn(it, b.subarray(at, at + count), AT.second);
    const equal = it.kernels.firstDifference(AT.plane, AT.second, count);
    at += equal;
    if (equal < count) return at;
  }
  return at;
}

/** Sum of plane[from .. to - 1]; exact for up to 2^21 samples. */
export function sumBetween(plane: Int32Array, from: number, to: number): number {
  const it = machine();
  let sum = 0;
  for (let at = from; at < to; at += PART) {
    const count = Math.min(PART, to - at);
    copyIn(it, plane.subarray(at, at + count), AT.plane);
    sum += it.kernels.total(AT.plane, count);
  }
  return sum;
}

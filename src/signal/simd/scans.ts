// The kernels as functions over planes: copy in, run, read out, in parts that fit. What each means: plain.ts.
import { AT, copyIn, machine, PLANE_FRAMES } from './machine.ts';
import { plainFirstDifference, plainZeroRuns } from './plain.ts';

/** Widest samples of the kernels that take differences: those of 32 bits would pass beyond 32 bits. */
export const MOST_KERNEL_BITS = 24;
/** Frames of one part: a multiple of every cell length up to 256. */
const PART = 65_536;

type SumKernel = 'firstDifferenceSums' | 'secondDifferenceSums';

/** `x` holds cells * cellFrames + 2 samples of at most 24 bits; `cellFrames` divides 256 and is a multiple of 4. */
export function firstDifferenceSums(x: Int32Array, cells: number, cellFrames: number, out: Float64Array): void {
  cellSums('firstDifferenceSums', x, cells, cellFrames, out);
}

/** As `firstDifferenceSums`. */
export function secondDifferenceSums(x: Int32Array, cells: number, cellFrames: number, out: Float64Array): void {
  cellSums('secondDifferenceSums', x, cells, cellFrames, out);
}

function cellSums(kernel: SumKernel, x: Int32Array, cells: number, cellFrames: number, out: Float64Array): void {
  const it = machine();
  const most = PART / cellFrames;
  for (let cell = 0; cell < cells; cell += most) {
    const count = Math.min(most, cells - cell);
    copyIn(it, x.subarray(cell * cellFrames, (cell + count) * cellFrames + 2), AT.plane);
    it.kernels[kernel](AT.plane, count, cellFrames, AT.list);
    out.set(it.reals.subarray(AT.list / 8, AT.list / 8 + count), cell);
  }
}

/** `x` holds frames + 2 samples of at most 24 bits; `frames` is a multiple of 8. Ascending indices; their number. */
export function meanHits(x: Int32Array, frames: number, most: number, hits: Int32Array): number {
  return inParts(x, frames, hits, (count) => machine().kernels.meanHits(AT.plane, count, most, AT.list));
}

/** As `meanHits`; any samples. */
export function holdHits(x: Int32Array, frames: number, hits: Int32Array): number {
  return inParts(x, frames, hits, (count) => machine().kernels.holdHits(AT.plane, count, AT.list));
}

function inParts(x: Int32Array, frames: number, hits: Int32Array, run: (count: number) => number): number {
  const it = machine();
  let found = 0;
  for (let at = 0; at < frames; at += PART) {
    const count = Math.min(PART, frames - at);
    copyIn(it, x.subarray(at, at + count + 2), AT.plane);
    const here = run(count);
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

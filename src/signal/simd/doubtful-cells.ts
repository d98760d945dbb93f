// Cells of a plane that may hold a place between samples higher than a known peak, by two bounds on what an interpolator can give
// (../true-peak-filter.ts). Not for the interpolation.
import { AT, copyIn, machine } from './machine.ts';

/** Frames that are decided together. */
export const DOUBT_CELL = 32;
/** Values of a doubtful cell: its number, and what the curve can add to the straight line between two of its samples. */
export const DOUBT_VALUES = 2;
/** Most frames for the kernel's area, context included. */
const MOST_FRAMES = 65_536;

export interface DoubtBounds {
  /** |output| <= sumOfTaps x the largest |sample| in reach */
  readonly sumOfTaps: number;
  /** |output| <= the larger of the two samples beside it + bend x the largest |second difference| in reach */
  readonly bend: number;
  /** room for rounding */
  readonly safety: number;
}

export interface Doubtful {
  /** `DOUBT_VALUES` for each, ascending; cell 0 is the first after the margin */
  readonly cells: Float64Array;
  /** largest |sample| of all */
  readonly samplePeak: number;
}

/** `before` and `then` together: a cell of margin, cells to be decided, a cell of margin. */
export function doubtfulCells(before: Int32Array, then: Int32Array, peak: number, bounds: DoubtBounds): Doubtful {
  const frames = before.length + then.length;
  if (frames > MOST_FRAMES) return plainDoubtfulCells(before, then, peak, bounds);
  const it = machine();
  const input = AT.plane + 16;
  copyIn(it, before, input);
  copyIn(it, then, input + 4 * before.length);
  const last = input / 4 + frames - 1;
  it.words[input / 4 - 1] = it.words[input / 4];
  it.words[last + 1] = it.words[last];
  const { sumOfTaps, bend, safety } = bounds;
  const count = it.kernels.doubtfulCells(
    input,
    frames / DOUBT_CELL,
    peak,
    sumOfTaps,
    bend,
    safety,
    AT.second,
    AT.sums,
    AT.list,
  );
  return {
    cells: it.reals.slice(AT.list / 8, AT.list / 8 + DOUBT_VALUES * count),
    samplePeak: it.reals[AT.sums / 8],
  };
}

/** The plain twin. */
export function plainDoubtfulCells(
  before: Int32Array,
  then: Int32Array,
  peak: number,
  { sumOfTaps, bend, safety }: DoubtBounds,
): Doubtful {
  const x = Int32Array.of(...before, ...then);
  const count = x.length / DOUBT_CELL;
  const peaks = Float64Array.from({ length: count }, (_, cell) => peakBound(x, cell * DOUBT_CELL));
  const bends = Float64Array.from({ length: count }, (_, cell) => bendBound(x, cell * DOUBT_CELL));
  const cells: number[] = [];
  for (let cell = 1; cell < count - 1; cell++) {
    const near = Math.max(peaks[cell - 1], peaks[cell], peaks[cell + 1]);
    if (near * sumOfTaps * safety <= peak) continue;
    const swing = bend * Math.max(bends[cell - 1], bends[cell], bends[cell + 1]);
    const beside = Math.max(peaks[cell], Math.abs(x[(cell + 1) * DOUBT_CELL]));
    if ((beside + swing) * safety > peak) cells.push(cell - 1, swing);
  }
  return { cells: Float64Array.from(cells), samplePeak: x.reduce((most, value) => Math.max(most, Math.abs(value)), 0) };
}

/** The largest |sample|, or one more: ~x for |x| of a negative x stays within 32 bits. */
function peakBound(x: Int32Array, from: number): number {
  let most = 0;
  for (let i = from; i < from + DOUBT_CELL; i++) most = Math.max(most, x[i] ^ (x[i] >> 31));
  return most + 1;
}

/** At least the largest |second difference|, at most 16 more: samples are quartered, so that no sum leaves 32 bits. */
function bendBound(x: Int32Array, from: number): number {
  let most = 0;
  for (let i = from; i < from + DOUBT_CELL; i++) {
    const [left, right] = [x[Math.max(0, i - 1)], x[Math.min(x.length - 1, i + 1)]];
    const bend = (left >> 2) - 2 * (x[i] >> 2) + (right >> 2);
    most = Math.max(most, bend ^ (bend >> 31));
  }
  return 4 * (most + 1) + 6;
}

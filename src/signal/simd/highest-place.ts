// The highest place between the samples of a stretch, by the interpolator of the true-peak meter (../true-peak-filter.ts). Interpolates
// only where three bounds leave the peak so far in doubt; the skipped places cannot hold it. Not for streaming: ../true-peak.ts.
import { TRUE_PEAK_REACH, TRUE_PEAK_TAPS, type TruePeakFilter } from '../true-peak-filter.ts';
import { copyIn, type Machine, machineOf, placed } from './machine.ts';

/** Frames that are decided together, and samples that must lie before and after all that are searched: more than the reach. */
export const PLACE_CELL = 32;
/** Room for rounding in the bounds, far above 24 products of doubles. */
const SAFETY = 1 + 1e-9;
/** Where the filter lies, after the start of the bounds of the cells. */
const BEHIND_BOUNDS = 0x1_0000;
/** Most frames for the kernel's area, margins included. */
const MOST_FRAMES = 65_536;
/** Rows of the mirrored filter that the kernel takes. */
const ROWS = 4;

export interface HighestPlace {
  /** the highest magnitude of all places, where it is above the peak so far; otherwise that */
  readonly peak: number;
  /** frame at or before the first place that reaches it, after the margin; undefined where nothing is above the peak so far */
  readonly index: number | undefined;
  /** largest |sample|, margins included */
  readonly samplePeak: number;
}

/** `before` and `then` together: a cell of margin, whole cells to be searched, a cell of margin. */
export function highestPlace(before: Int32Array, then: Int32Array, peak: number, filter: TruePeakFilter): HighestPlace {
  const frames = before.length + then.length;
  if (frames > MOST_FRAMES || filter.factor > 2 * ROWS) return plainHighestPlace(before, then, peak, filter);
  // Only what reaches back before `then` must be copied beside it; of the rest the first cell is margin again.
  const seam = PLACE_CELL * Math.ceil(before.length / PLACE_CELL);
  if (before.length === 0 || seam + 3 * PLACE_CELL > frames) return placeOf(before, then, peak, filter);
  const early = placeOf(before, then.subarray(0, seam + 2 * PLACE_CELL - before.length), peak, filter);
  const late = placeOf(NONE, then.subarray(seam - before.length), early.peak, filter);
  return {
    peak: late.peak,
    index: late.index === undefined ? early.index : late.index + seam,
    samplePeak: Math.max(early.samplePeak, late.samplePeak),
  };
}

const NONE = new Int32Array(0);

function placeOf(before: Int32Array, then: Int32Array, peak: number, filter: TruePeakFilter): HighestPlace {
  const it = machineOf(then);
  const { at } = it;
  const cells = (before.length + then.length) / PLACE_CELL;
  const atFilter = at.second + BEHIND_BOUNDS;
  writeFilter(it, filter, atFilter);
  const { sumOfTaps, bend } = filter;
  const input = besideEachOther(it, before, then);
  it.kernels.highestPlace(input, cells, peak, sumOfTaps, bend, SAFETY, atFilter, at.second, at.sums);
  const [samplePeak, highest, index] = it.reals.subarray(at.sums / 8, at.sums / 8 + 3);
  return { peak: highest, index: index < 0 ? undefined : index, samplePeak };
}

/** The samples beyond both ends only bound what the margins hold, out of reach of what is searched: any will do. */
function besideEachOther(it: Machine, before: Int32Array, then: Int32Array): number {
  if (before.length === 0) return placed(it, then, it.at.plane);
  copyIn(it, before, it.at.plane);
  copyIn(it, then, it.at.plane + 4 * before.length);
  return it.at.plane;
}

/** The envelope, then for each tap of the mirrored filter its rows side by side: sums first, then differences. */
function writeFilter({ reals }: Machine, { mirrored, envelope }: TruePeakFilter, address: number): void {
  const at = address / 8;
  reals.set(envelope, at);
  reals.fill(0, at + TRUE_PEAK_TAPS, at + TRUE_PEAK_TAPS * (1 + ROWS));
  for (let row = 0; row * TRUE_PEAK_TAPS < mirrored.length; row++) {
    for (let k = 0; k < TRUE_PEAK_TAPS; k++) {
      reals[at + TRUE_PEAK_TAPS + ROWS * k + row] = mirrored[row * TRUE_PEAK_TAPS + k];
    }
  }
}

/** The plain twin. */
export function plainHighestPlace(
  before: Int32Array,
  then: Int32Array,
  peak: number,
  filter: TruePeakFilter,
): HighestPlace {
  const x = Int32Array.of(...before, ...then);
  const cells = x.length / PLACE_CELL;
  const peaks = Float64Array.from({ length: cells }, (_, cell) => peakBound(x, cell * PLACE_CELL));
  const bends = Float64Array.from({ length: cells }, (_, cell) => bendBound(x, cell * PLACE_CELL));
  let highest = peak;
  let index: number | undefined;
  for (let cell = 1; cell < cells - 1; cell++) {
    const near = Math.max(peaks[cell - 1], peaks[cell], peaks[cell + 1]);
    if (near * filter.sumOfTaps * SAFETY <= highest) continue;
    const swing = filter.bend * Math.max(bends[cell - 1], bends[cell], bends[cell + 1]);
    for (let i = cell * PLACE_CELL; i < (cell + 1) * PLACE_CELL; i++) {
      const here = Math.abs(x[i]);
      if ((Math.max(here, Math.abs(x[i + 1])) + swing) * SAFETY <= highest) continue;
      const most = Math.max(here, canExceed(highest, x, i, filter) ? highestBetween(x, i, filter) : 0);
      if (most <= highest) continue;
      highest = most;
      index = i - PLACE_CELL;
    }
  }
  return { peak: highest, index, samplePeak: x.reduce((most, value) => Math.max(most, Math.abs(value)), 0) };
}

/** The largest |sample|, or one more: ~x for |x| of a negative x stays within 32 bits. */
function peakBound(x: Int32Array, from: number): number {
  let most = 0;
  for (let i = from; i < from + PLACE_CELL; i++) most = Math.max(most, x[i] ^ (x[i] >> 31));
  return most + 1;
}

/** At least the largest |second difference|, at most 16 more: samples are quartered, so that no sum leaves 32 bits. */
function bendBound(x: Int32Array, from: number): number {
  let most = 0;
  for (let i = from; i < from + PLACE_CELL; i++) {
    const [left, right] = [x[Math.max(0, i - 1)], x[Math.min(x.length - 1, i + 1)]];
    const bend = (left >> 2) - 2 * (x[i] >> 2) + (right >> 2);
    most = Math.max(most, bend ^ (bend >> 31));
  }
  return 4 * (most + 1) + 6;
}

/** Whether the samples in reach are large enough, whatever their signs, to give more than `peak` between i and i + 1. */
function canExceed(peak: number, samples: Int32Array, i: number, { envelope }: TruePeakFilter): boolean {
  const first = i - (TRUE_PEAK_REACH - 1);
  let most = 0;
  for (let k = 0; k < TRUE_PEAK_TAPS; k++) most += envelope[k] * Math.abs(samples[first + k]);
  return most * SAFETY > peak;
}

/** Highest magnitude at the places between samples i and i + 1; a place and its mirror share their products. */
function highestBetween(samples: Int32Array, i: number, { mirrored }: TruePeakFilter): number {
  const first = i - (TRUE_PEAK_REACH - 1);
  const last = i + TRUE_PEAK_REACH;
  let highest = 0;
  for (let row = 0; row < mirrored.length; row += TRUE_PEAK_TAPS) {
    let even = 0;
    let odd = 0;
    for (let k = 0; k < TRUE_PEAK_REACH; k++) {
      even += mirrored[row + k] * (samples[first + k] + samples[last - k]);
      odd += mirrored[row + TRUE_PEAK_REACH + k] * (samples[first + k] - samples[last - k]);
    }
    // the larger of |even + odd| and |even - odd|
    highest = Math.max(highest, Math.abs(even) + Math.abs(odd));
  }
  return highest;
}

// Where a waveform breaks for a moment: the fourth difference, to which smooth sound is nearly nothing, against the largest around
// it; and how often ratios of every size come. One place of every 32 frames is weighed. Not for what a break is.
import { copyIn, type Machine, machineOf, placed } from './machine.ts';

/** Frames that are weighed against one quantising step, that of the cell. */
export const BREAK_CELL = 1024;
/** One peak in so many frames. */
const PART = 32;
/** What belongs to the peak itself reaches so far … */
const OWN = 6;
/** … and its surroundings from there to here, to both sides. */
const AROUND = 24;
/** Samples that must lie before and after the cells. */
export const BREAK_CONTEXT = AROUND + 4;
/** Rounding alone makes fourth differences of up to about this many steps. */
export const BREAK_ROUNDING = 16;
/** Magnitudes below 2^27 give fourth differences of 31 bits. */
const MOST_MAGNITUDE = 2 ** 27;
/** Where the kernel counts, after the start of the bends. */
const BEHIND_BENDS = 0x2000;
/** Most frames for the kernel's area, context included. */
const MOST_FRAMES = 65_536;

export interface Break {
  /** index of the peak after the first frame weighed */
  readonly index: number;
  /** the fourth difference there against the largest around, which counts as at least that of rounding: of one step of the cell, or
   * of one unit where nothing sounds around */
  readonly ratio: number;
}

/** Places counted in sixteenths of an octave; nothing is counted where nothing sounds around. */
export interface BreakCounts {
  /** [k]: ratios from 2^(k/16 - 6) on, smaller ones in the first bin */
  readonly ratios: Float64Array;
  /** [k]: largest fourth differences around from 2^(k/16) on */
  readonly sizes: Float64Array;
}

const BINS = 512;
const LOWEST_OCTAVE = 6;
export const BREAKS_PER_OCTAVE = 16;

export function newBreakCounts(): BreakCounts {
  return { ratios: new Float64Array(BINS), sizes: new Float64Array(BINS) };
}

/** Lower edge of a bin of ratios. */
export function breakRatioOf(bin: number): number {
  return 2 ** (bin / BREAKS_PER_OCTAVE - LOWEST_OCTAVE);
}

/**
 * Places of at least `leastRatio` in `cells` cells from `from` on of the samples `before` and `then` together, ascending. `BREAK_CONTEXT`
 * samples must lie before and after the cells.
 */
export function findBreaks(
  before: Int32Array,
  then: Int32Array,
  from: number,
  cells: number,
  leastRatio: number,
  counts: BreakCounts,
): Break[] {
  const count = cells * BREAK_CELL;
  if (before.length + then.length > MOST_FRAMES) {
    return plainBreaks(joined(before, then), from, count, leastRatio, counts);
  }
  // Only what reaches back before `then` must be copied beside it.
  const first = Math.min(cells, Math.max(0, Math.ceil((before.length + BREAK_CONTEXT - from) / BREAK_CELL)));
  const seam = first * BREAK_CELL;
  const needed = Math.max(0, from + seam + BREAK_CONTEXT - before.length);
  const early = breaksOf(before, then.subarray(0, needed), from, first, leastRatio, counts);
  if (first === cells) return early;
  const rest = then.subarray(from + seam - BREAK_CONTEXT - before.length);
  const late = breaksOf(NONE, rest, BREAK_CONTEXT, cells - first, leastRatio, counts);
  return [...early, ...late.map(({ index, ratio }) => ({ index: index + seam, ratio }))];
}

const NONE = new Int32Array(0);

function breaksOf(
  before: Int32Array,
  then: Int32Array,
  from: number,
  cells: number,
  leastRatio: number,
  counts: BreakCounts,
): Break[] {
  if (cells === 0) return [];
  const it = machineOf(then);
  const { at } = it;
  const bins = at.second + BEHIND_BENDS;
  const start = besideEachOther(it, before, then);
  it.reals.set(SPLIT.edges, at.levels / 8);
  it.words.set(SPLIT.bins, at.levels / 4 + 64);
  it.words.fill(0, bins / 4, bins / 4 + 2 * BINS);
  const input = start + 4 * from;
  const found = it.kernels.breaks(input, cells, leastRatio, at.levels, at.second, bins, at.sums, at.list);
  if (it.reals[at.sums / 8] >= MOST_MAGNITUDE) {
    return plainBreaks(joined(before, then), from, cells * BREAK_CELL, leastRatio, counts);
  }
  for (let k = 0; k < BINS; k++) {
    counts.ratios[k] += it.words[bins / 4 + k];
    counts.sizes[k] += it.words[bins / 4 + BINS + k];
  }
  return Array.from({ length: found }, (_, k) => {
    const [index, ratio] = it.reals.subarray(at.list / 8 + 2 * k, at.list / 8 + 2 * k + 2);
    return { index, ratio };
  });
}

function besideEachOther(it: Machine, before: Int32Array, then: Int32Array): number {
  const { plane } = it.at;
  if (before.length === 0) return placed(it, then, plane);
  copyIn(it, before, plane);
  copyIn(it, then, plane + 4 * before.length);
  return plane;
}

function joined(before: Int32Array, then: Int32Array): Int32Array {
  const all = new Int32Array(before.length + then.length);
  all.set(before);
  all.set(then, before.length);
  return all;
}

/** The plain twin, for any number of frames: the last part and the last cell may be shorter. */
export function plainBreaks(
  x: Int32Array,
  from: number,
  count: number,
  leastRatio: number,
  counts: BreakCounts,
): Break[] {
  const found: Break[] = [];
  for (let cell = from; cell < from + count; cell += BREAK_CELL) {
    const end = Math.min(from + count, cell + BREAK_CELL);
    const least = BREAK_ROUNDING * stepOf(x, cell - AROUND, end + AROUND);
    for (let part = cell; part < end; part += PART) {
      const at = tallest(x, part, Math.min(end, part + PART));
      const peak = fourthDifference(x, at);
      const rest = largestBeside(x, at, AROUND);
      // Where nothing sounds around, the lowest bit is that of the peak itself.
      const size = rest === 0 ? BREAK_ROUNDING : Math.max(rest, least);
      const ratio = peak / size;
      if (rest !== 0) {
        counts.ratios[Math.min(BINS - 1, Math.max(0, BREAKS_PER_OCTAVE * LOWEST_OCTAVE + sixteenths(ratio)))]++;
        counts.sizes[sixteenths(size)]++;
      }
      // A taller neighbour in the next part speaks for both.
      const isTallest = Math.max(largest(x, at, 1, OWN, -1), largest(x, at, 1, OWN, 1)) <= peak;
      if (ratio >= leastRatio && isTallest) found.push({ index: at - from, ratio });
    }
  }
  return found;
}

/** Largest fourth difference beside a peak, from where nothing belongs to it as far as `reach` on both sides. */
export function largestBeside(x: Int32Array, at: number, reach = AROUND): number {
  return Math.max(largest(x, at, OWN + 1, reach, -1), largest(x, at, OWN + 1, reach, 1));
}

/** Magnitude of the fourth difference at i. */
export function fourthDifference(x: Int32Array, i: number): number {
  return Math.abs(x[i - 2] + x[i + 2] - 4 * (x[i - 1] + x[i + 1]) + 6 * x[i]);
}

function stepOf(x: Int32Array, from: number, to: number): number {
  let or = 0;
  for (let i = from; i < to; i++) or |= x[i];
  return or === 0 ? 1 : (or & -or) >>> 0;
}

function tallest(x: Int32Array, from: number, to: number): number {
  let at = from;
  for (let i = from + 1; i < to; i++) if (fourthDifference(x, i) > fourthDifference(x, at)) at = i;
  return at;
}

function largest(x: Int32Array, at: number, nearest: number, farthest: number, side: -1 | 1): number {
  let most = 0;
  for (let k = nearest; k <= farthest; k++) most = Math.max(most, fourthDifference(x, at + side * k));
  return most;
}

/** Whole sixteenths of an octave above 1, rounded down; -Infinity for 0. */
function sixteenths(x: number): number {
  let exponent = Math.floor(Math.log2(x));
  if (2 ** exponent > x) exponent--;
  else if (2 ** (exponent + 1) <= x) exponent++;
  let sixteenth = BREAKS_PER_OCTAVE - 1;
  while (sixteenth > 0 && x / 2 ** exponent < edge(sixteenth)) sixteenth--;
  return BREAKS_PER_OCTAVE * exponent + sixteenth;
}

function edge(sixteenth: number): number {
  return 2 ** (sixteenth / BREAKS_PER_OCTAVE);
}

/**
 * Between 1 and 2 the kernel finds the sixteenth by the five bits after the point: where none of the fifteen edges lies above their
 * value the bin is known, otherwise it depends on that one edge.
 */
const SPLIT = splitOctave(32);

function splitOctave(pieces: number): { readonly edges: Float64Array; readonly bins: Int32Array } {
  const edges = new Float64Array(pieces).fill(Number.POSITIVE_INFINITY);
  const bins = new Int32Array(pieces);
  for (let piece = 0; piece < pieces; piece++) {
    bins[piece] = sixteenths(1 + piece / pieces);
    const next = edge(bins[piece] + 1);
    if (next < 1 + (piece + 1) / pieces) edges[piece] = next;
  }
  return { edges, bins };
}

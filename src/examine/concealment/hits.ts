// What a concealed sample looks like, sample by sample: the marks ("hits") that the lattice scan looks for in rows.
// A hit alone proves nothing: undamaged sound makes them too, at a rate that judge.ts takes from the same recording.
import { holdCells, meanCells } from '../../signal/index.ts';

/** A way of covering a lost sample, seen from the samples on both sides of it. Arrays carry one sample of context at
 * both ends: sample i of a stretch lies at x[i + 1]. */
export interface HitRule {
  readonly kind: 'interpolated' | 'held';
  /** Integer values that count as a hit, given the neighbours (before the rounding is known). */
  readonly width: number;
  /** Quantising steps by which an end of a row must break off. */
  readonly leastBreak: number;
  /** Whether a row that breaks off at neither end is told where it is rarer by all the places around it: where steps are wide, sound goes
   * on beside a line within a step or two. */
  readonly mayGoOver: boolean;
  /** Samples at either end of a row that may be sound: next to a line some samples are means by chance. */
  readonly mayBeSound: number;
  /** Logarithm of the number of ways to cut so many samples, at both ends together, off a row. */
  choicesOfCut(samples: number): number;
  /** Whether a line between equal ends is told: it may have been a hold as well. */
  readonly isFlatTold: boolean;
  /** Whether a line must keep one rounding, as every deck does: where hits are common, others are the sound's own. */
  readonly isOneRounding: boolean;
  /** Share of hits in the sound around from which the sound is made of lines itself, which it has in every rounding. */
  readonly mostHits: number;
  /** Writes the indices 0..frames-1 of hits to `hits`; returns their number. `step` is the quantising step. */
  scan(x: Int32Array, frames: number, step: number, hits: Int32Array): number;
  /** Sum over the stretch of the roughness whose spread says how rare a hit is by chance. */
  roughness(x: Int32Array, frames: number): number;
  /** How far sample i of a stretch (at x[i], both neighbours in x) lies from a hit, signed: 0 is one. */
  deviation(x: Int32Array, i: number): number;
  /** Both at once and to the last bit the same, for consecutive cells of samples of at most 24 bits: the kernels of signal/simd. */
  scanCells(x: Int32Array, cells: CellShape, step: number, roughnesses: Float64Array, hits: Int32Array): number;
}

/** `cellFrames` divides 256 and is a multiple of 8. */
export interface CellShape {
  readonly cells: number;
  readonly cellFrames: number;
}

/** First-order concealment: the sample lies midway between its neighbours, in any rounding. Flat stretches count for
 * nothing: they are holds, mutes or silence, which other rules judge. */
export const meanRule: HitRule = {
  kind: 'interpolated',
  width: 3,
  leastBreak: 4,
  mayGoOver: false,
  mayBeSound: 2,
  choicesOfCut: (samples) => (samples === 0 ? 0 : Math.log(9)),
  isFlatTold: false,
  isOneRounding: false,
  mostHits: 0.5,
  scan(x, frames, step, hits) {
    let count = 0;
    for (let i = 0; i < frames; i++) if (isMean(x, i, step)) hits[count++] = i;
    return count;
  },
  roughness(x, frames) {
    let sum = 0;
    for (let i = 0; i < frames; i++) sum += Math.abs(2 * x[i + 1] - x[i] - x[i + 2]);
    return sum;
  },
  deviation: (x, i) => 2 * x[i] - x[i - 1] - x[i + 1],
  scanCells(x, { cells, cellFrames }, step, roughnesses, hits) {
    const near = meanCells(x, cells, cellFrames, 2 * step, roughnesses, hits);
    let count = 0;
    for (let k = 0; k < near; k++) if (isMean(x, hits[k], step)) hits[count++] = hits[k];
    return count;
  },
};

/** The same in the codes of a law. Their steps are wide: two of them are a break, a line is flat in places, and means are common in
 * any sound. */
export const codeMeanRule: HitRule = {
  ...meanRule,
  leastBreak: 3,
  mayGoOver: true,
  mayBeSound: 24,
  // Two samples at either end as a matter of course; the more is cut beyond that, the more ways there are.
  choicesOfCut: (samples) => (samples === 0 ? 0 : Math.log(36) + Math.max(0, 3 * Math.log(samples / 4))),
  isFlatTold: true,
  isOneRounding: true,
  mostHits: 0.9,
  scan(x, frames, step, hits) {
    let count = 0;
    for (let i = 0, [before, at] = x; i < frames; i++) {
      const after = x[i + 2];
      if (isNear(before, at, after, step)) hits[count++] = i;
      before = at;
      at = after;
    }
    return count;
  },
  scanCells(x, { cells, cellFrames }, step, roughnesses, hits) {
    // The kernel passes over flat samples; its sums are the same.
    meanCells(x, cells, cellFrames, 0, roughnesses, hits);
    return codeMeanRule.scan(x, cells * cellFrames, step, hits);
  },
};

function isMean(x: Int32Array, i: number, step: number): boolean {
  const before = x[i];
  const at = x[i + 1];
  const after = x[i + 2];
  return isNear(before, at, after, step) && !(before === at && at === after);
}

function isNear(before: number, at: number, after: number, step: number): boolean {
  const second = 2 * at - before - after;
  // Rounding toward zero is uneven by two steps where a line crosses zero: only there the signs differ.
  const reach = (before ^ after) >= 0 ? step : 2 * step;
  return second <= reach && second >= -reach;
}

/** Zero-order concealment: the sample repeats the one before it. Zeros in a row are left to the mute detector, but for the last: a pair
 * of them is a sample like any other. */
export const holdRule: HitRule = {
  kind: 'held',
  width: 1,
  leastBreak: 4,
  mayGoOver: false,
  mayBeSound: 2,
  choicesOfCut: (samples) => (samples === 0 ? 0 : Math.log(9)),
  isFlatTold: false,
  isOneRounding: false,
  mostHits: 0.5,
  scan(x, frames, _step, hits) {
    let count = 0;
    for (let i = 0; i < frames; i++) if (x[i + 1] === x[i] && (x[i + 1] | x[i + 2]) !== 0) hits[count++] = i;
    return count;
  },
  roughness(x, frames) {
    let sum = 0;
    for (let i = 0; i < frames; i++) sum += Math.abs(x[i + 1] - x[i]);
    return sum;
  },
  deviation: (x, i) => x[i] - x[i - 1],
  scanCells: (x, { cells, cellFrames }, _step, roughnesses, hits) => holdCells(x, cells, cellFrames, roughnesses, hits),
};

// The true peak of one channel that streams by: the highest magnitude of the wave between the samples, ITU-R BS.1770 Annex 2.
// Interpolates only where three bounds leave the present maximum in doubt; the skipped places cannot hold it. Not for loudness.
import { type Rate, rateHz } from '../base/index.ts';
import { TRUE_PEAK_REACH, TRUE_PEAK_TAPS, type TruePeakFilter, truePeakFilter } from './true-peak-filter.ts';

export interface TruePeakReading {
  /** in sample steps; at least the sample peak */
  readonly peak: number;
  /** frame at or before the place, the first one that reaches the peak; null for silence */
  readonly frame: number | null;
  readonly samplePeak: number;
  readonly oversampling: number;
}

/** Frames that are decided together. */
const CELL = 32;
/** Frames in the work area between moves; a whole number of cells. */
const STRETCH = 2048;
/** Samples before and after a stretch: a cell each, which covers the reach. */
const MARGIN = CELL;
/** Room for rounding in the bounds, far above 24 products of doubles. */
const SAFETY = 1 + 1e-9;

export class TruePeakMeter {
  readonly #filter: TruePeakFilter;
  /** a margin that was searched, the stretch, a margin still to come */
  readonly #work = new Int32Array(STRETCH + 2 * MARGIN);
  /** samples in the work area: the recording is zero before its start, and the wave may already swing up there */
  #filled = 2 * MARGIN;
  /** frame number of the first sample after the first margin */
  #base = -MARGIN;
  #frames = 0;
  #peak = 0;
  #frame: number | null = null;
  #samplePeak = 0;
  /** bounds on the magnitude and on the second difference (-1: not looked at) of each cell, margins included */
  readonly #peaks = new Float64Array(STRETCH / CELL + 2);
  readonly #bends = new Float64Array(STRETCH / CELL + 2);
  readonly #folded = new Float64Array(TRUE_PEAK_TAPS);

  constructor(rate: Rate) {
    this.#filter = truePeakFilter(truePeakOversampling(rate));
  }

  /** Samples [0, frames) of the plane, following the ones before. */
  push(plane: Int32Array, frames: number): void {
    this.#frames += frames;
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, this.#work.length - this.#filled);
      this.#work.set(plane.subarray(at, at + count), this.#filled);
      this.#filled += count;
      at += count;
      if (this.#filled === this.#work.length) this.#search();
    }
  }

  finish(): TruePeakReading {
    // after its end the recording is zero as well; the wave may still swing up there
    for (let pass = 0; pass < 2; pass++) {
      this.#work.fill(0, this.#filled);
      this.#search();
    }
    return {
      peak: this.#peak,
      frame: this.#frame === null ? null : Math.min(Math.max(0, this.#frame), this.#frames - 1),
      samplePeak: this.#samplePeak,
      oversampling: this.#filter.factor,
    };
  }

  /** Searches the stretch, keeps the last two margins for the next one. */
  #search(): void {
    this.#measureCells();
    for (let cell = 1; cell <= STRETCH / CELL; cell++) {
      const swing = this.#swing(cell);
      if (swing >= 0) this.#interpolate(cell * CELL, swing);
    }
    this.#work.copyWithin(0, STRETCH);
    this.#base += STRETCH;
    this.#filled = 2 * MARGIN;
  }

  #measureCells(): void {
    this.#bends.fill(-1);
    for (let cell = 0; cell < this.#peaks.length; cell++) {
      const peak = peakBound(this.#work, cell * CELL, (cell + 1) * CELL);
      this.#peaks[cell] = peak;
      if (peak > this.#samplePeak) this.#keepSamplePeak(cell);
    }
  }

  #keepSamplePeak(cell: number): void {
    for (let i = cell * CELL; i < (cell + 1) * CELL; i++) {
      this.#samplePeak = Math.max(this.#samplePeak, Math.abs(this.#work[i]));
    }
  }

  /** What the curve can add to the straight line between two samples of the cell; -1 where no place can hold the peak. */
  #swing(cell: number): number {
    const { sumOfTaps, bend } = this.#filter;
    const near = Math.max(this.#peaks[cell - 1], this.#peaks[cell], this.#peaks[cell + 1]);
    if (near * sumOfTaps * SAFETY <= this.#peak) return -1;
    const swing = bend * Math.max(this.#bend(cell - 1), this.#bend(cell), this.#bend(cell + 1));
    const beside = Math.max(this.#peaks[cell], Math.abs(this.#work[(cell + 1) * CELL]));
    return (beside + swing) * SAFETY <= this.#peak ? -1 : swing;
  }

  /** Second differences centred in the cell; at the outer edges of the work area those that need no more than it holds. */
  #bend(cell: number): number {
    if (this.#bends[cell] < 0) {
      const from = Math.max(1, cell * CELL);
      this.#bends[cell] = bendBound(this.#work, from, Math.min(this.#work.length - 1, (cell + 1) * CELL));
    }
    return this.#bends[cell];
  }

  /** Places after each sample of the cell, where neither of the two samples beside them is too low for the swing. */
  #interpolate(from: number, swing: number): void {
    const { mirrored, envelope } = this.#filter;
    const work = this.#work;
    for (let i = from; i < from + CELL; i++) {
      const here = Math.abs(work[i]);
      const beside = Math.max(here, Math.abs(work[i + 1]));
      if ((beside + swing) * SAFETY <= this.#peak) continue;
      const isWorthIt = canExceed(this.#peak, work, i, envelope);
      const highest = isWorthIt ? Math.max(here, highestBetween(work, i, mirrored, this.#folded)) : here;
      if (highest > this.#peak) {
        this.#peak = highest;
        this.#frame = this.#base + i - MARGIN;
      }
    }
  }
}

/** 8 times, from 64 kHz on 4 times: at every rate of the formats at least 192 kHz, what BS.1770 Annex 2 asks for at 48 kHz. */
function truePeakOversampling(rate: Rate): number {
  return rateHz(rate) < 64_000 ? 8 : 4;
}

/** Whether the samples in reach are large enough, whatever their signs, to give more than `peak` between i and i + 1. */
function canExceed(peak: number, samples: Int32Array, i: number, envelope: Float64Array): boolean {
  const first = i - (TRUE_PEAK_REACH - 1);
  let most = 0;
  for (let k = 0; k < TRUE_PEAK_TAPS; k++) most += envelope[k] * Math.abs(samples[first + k]);
  return most * SAFETY > peak;
}

/** Highest magnitude at the places between samples i and i + 1; a place and its mirror share their products. */
function highestBetween(samples: Int32Array, i: number, mirrored: Float64Array, folded: Float64Array): number {
  const first = i - (TRUE_PEAK_REACH - 1);
  const last = i + TRUE_PEAK_REACH;
  for (let k = 0; k < TRUE_PEAK_REACH; k++) {
    folded[k] = samples[first + k] + samples[last - k];
    folded[k + TRUE_PEAK_REACH] = samples[first + k] - samples[last - k];
  }
  let highest = 0;
  for (let row = 0; row < mirrored.length; row += TRUE_PEAK_TAPS) {
    let even = 0;
    let odd = 0;
    for (let k = 0; k < TRUE_PEAK_REACH; k++) {
      even += mirrored[row + k] * folded[k];
      odd += mirrored[row + TRUE_PEAK_REACH + k] * folded[TRUE_PEAK_REACH + k];
    }
    // the larger of |even + odd| and |even - odd|
    const magnitude = Math.abs(even) + Math.abs(odd);
    if (magnitude > highest) highest = magnitude;
  }
  return highest;
}

/*
 * The two scans below are where the meter's time goes. A maximum without a branch, `d = m - max; max += d > 0 ? d : 0` written
 * with masks, took half the time of a comparison (measured), and ~x for |x| of negative x stays within 32 bits.
 */

/** The largest |sample|, or one more. */
function peakBound(samples: Int32Array, from: number, to: number): number {
  let max = 0;
  for (let i = from; i < to; i++) {
    const x = samples[i];
    const d = (x ^ (x >> 31)) - max;
    max += d & ~(d >> 31);
  }
  return max + 1;
}

/** At least the largest |second difference|, at most 16 more: samples are quartered, so that no sum leaves 32 bits. */
function bendBound(samples: Int32Array, from: number, to: number): number {
  let max = 0;
  let before = samples[from - 1] >> 2;
  let here = samples[from] >> 2;
  for (let i = from + 1; i <= to; i++) {
    const after = samples[i] >> 2;
    const bend = before - here - here + after;
    const d = (bend ^ (bend >> 31)) - max;
    max += d & ~(d >> 31);
    before = here;
    here = after;
  }
  return 4 * (max + 1) + 6;
}

// The true peak of one channel that streams by: the highest magnitude of the wave between the samples, ITU-R BS.1770 Annex 2.
// Interpolates only where three bounds leave the present maximum in doubt; the skipped places cannot hold it. Not for loudness.
import { type Rate, rateHz } from '../base/index.ts';
import { DOUBT_CELL, DOUBT_VALUES, type DoubtBounds, doubtfulCells } from './simd/doubtful-cells.ts';
import { TRUE_PEAK_REACH, TRUE_PEAK_TAPS, type TruePeakFilter, truePeakFilter } from './true-peak-filter.ts';

export interface TruePeakReading {
  /** in sample steps; at least the sample peak */
  readonly peak: number;
  /** frame at or before the place, the first one that reaches the peak; null for silence */
  readonly frame: number | null;
  readonly samplePeak: number;
  readonly oversampling: number;
}

/** Samples before and after those that are searched: a cell each, which covers the reach. */
const MARGIN = DOUBT_CELL;
/** Frames searched together. */
const STRETCH = 32_768;
/** Room for rounding in the bounds, far above 24 products of doubles. */
const SAFETY = 1 + 1e-9;

export class TruePeakMeter {
  readonly #filter: TruePeakFilter;
  readonly #bounds: DoubtBounds;
  /** a margin that was searched, samples still to be searched; the recording is zero before its start, and the wave may already swing up there */
  readonly #carry = new Int32Array(2 * MARGIN + DOUBT_CELL);
  #carried = 2 * MARGIN;
  /** frame number of the first sample after the first margin */
  #base = -MARGIN;
  #frames = 0;
  #peak = 0;
  #frame: number | null = null;
  #samplePeak = 0;
  readonly #folded = new Float64Array(TRUE_PEAK_TAPS);

  constructor(rate: Rate) {
    this.#filter = truePeakFilter(truePeakOversampling(rate));
    this.#bounds = { sumOfTaps: this.#filter.sumOfTaps, bend: this.#filter.bend, safety: SAFETY };
  }

  /** Samples [0, frames) of the plane, following the ones before. */
  push(plane: Int32Array, frames: number): void {
    this.#frames += frames;
    for (let at = 0; at < frames; at += STRETCH) this.#pushPart(plane.subarray(at, Math.min(frames, at + STRETCH)));
  }

  finish(): TruePeakReading {
    // After its end the recording is zero as well; the wave may still swing up there.
    this.#pushPart(new Int32Array(2 * MARGIN + DOUBT_CELL));
    return {
      peak: this.#peak,
      frame: this.#frame === null ? null : Math.min(Math.max(0, this.#frame), this.#frames - 1),
      samplePeak: this.#samplePeak,
      oversampling: this.#filter.factor,
    };
  }

  /** Searches all whole cells that have a margin behind them, and keeps the rest. */
  #pushPart(part: Int32Array): void {
    const carry = this.#carry.subarray(0, this.#carried);
    const cells = Math.floor((carry.length + part.length - 2 * MARGIN) / DOUBT_CELL);
    const done = cells * DOUBT_CELL;
    if (cells > 0) this.#search(carry, part.subarray(0, done + 2 * MARGIN - carry.length));
    const kept = Math.max(0, carry.length - done);
    this.#carry.copyWithin(0, carry.length - kept, carry.length);
    const rest = part.subarray(Math.max(0, done - carry.length));
    this.#carry.set(rest, kept);
    this.#carried = kept + rest.length;
    this.#base += done;
  }

  #search(carry: Int32Array, part: Int32Array): void {
    const { cells, samplePeak } = doubtfulCells(carry, part, this.#peak, this.#bounds);
    this.#samplePeak = Math.max(this.#samplePeak, samplePeak);
    for (let k = 0; k < cells.length; k += DOUBT_VALUES) {
      const from = cells[k] * DOUBT_CELL;
      const frame = this.#base + from;
      if (from >= carry.length) this.#interpolate(part, from - carry.length + MARGIN, frame, cells[k + 1]);
      else this.#interpolate(across(carry, part, from), MARGIN, frame, cells[k + 1]);
    }
  }

  /** Places after each sample of the cell that begins at `first`, where neither of the two samples beside them is too low for the swing. */
  #interpolate(samples: Int32Array, first: number, frame: number, swing: number): void {
    const { mirrored, envelope } = this.#filter;
    for (let i = first; i < first + DOUBT_CELL; i++) {
      const here = Math.abs(samples[i]);
      const beside = Math.max(here, Math.abs(samples[i + 1]));
      if ((beside + swing) * SAFETY <= this.#peak) continue;
      const isWorthIt = canExceed(this.#peak, samples, i, envelope);
      const highest = isWorthIt ? Math.max(here, highestBetween(samples, i, mirrored, this.#folded)) : here;
      if (highest > this.#peak) {
        this.#peak = highest;
        this.#frame = frame + i - first;
      }
    }
  }
}

/** A cell with its margins out of two arrays that follow each other. */
function across(carry: Int32Array, part: Int32Array, from: number): Int32Array {
  const samples = new Int32Array(2 * MARGIN + DOUBT_CELL);
  const before = carry.subarray(from);
  samples.set(before.subarray(0, samples.length));
  samples.set(part.subarray(0, Math.max(0, samples.length - before.length)), before.length);
  return samples;
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

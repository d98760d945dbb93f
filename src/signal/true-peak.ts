// The true peak of one channel that streams by: the highest magnitude of the wave between the samples, ITU-R BS.1770 Annex 2.
// Where it is looked for: simd/highest-place.ts. Not for loudness.
import { type Rate, rateHz } from '../base/index.ts';
import { highestPlace, PLACE_CELL } from './simd/highest-place.ts';
import { type TruePeakFilter, truePeakFilter } from './true-peak-filter.ts';

export interface TruePeakReading {
  /** in sample steps; at least the sample peak */
  readonly peak: number;
  /** frame at or before the place, the first one that reaches the peak; null for silence */
  readonly frame: number | null;
  readonly samplePeak: number;
  readonly oversampling: number;
}

/** Samples before and after those that are searched. */
const MARGIN = PLACE_CELL;
/** Frames searched together. */
const STRETCH = 32_768;

export class TruePeakMeter {
  readonly #filter: TruePeakFilter;
  /** a margin that was searched, samples still to be searched; the recording is zero before its start, and the wave may already swing up there */
  readonly #carry = new Int32Array(2 * MARGIN + PLACE_CELL);
  #carried = 2 * MARGIN;
  /** frame number of the first sample after the first margin */
  #base = -MARGIN;
  #frames = 0;
  #peak = 0;
  #frame: number | null = null;
  #samplePeak = 0;

  constructor(rate: Rate) {
    this.#filter = truePeakFilter(truePeakOversampling(rate));
  }

  /** Samples [0, frames) of the plane, following the ones before. */
  push(plane: Int32Array, frames: number): void {
    this.#frames += frames;
    for (let at = 0; at < frames; at += STRETCH) this.#pushPart(plane.subarray(at, Math.min(frames, at + STRETCH)));
  }

  finish(): TruePeakReading {
    // After its end the recording is zero as well; the wave may still swing up there.
    this.#pushPart(new Int32Array(2 * MARGIN + PLACE_CELL));
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
    const cells = Math.floor((carry.length + part.length - 2 * MARGIN) / PLACE_CELL);
    const done = cells * PLACE_CELL;
    if (cells > 0) this.#search(carry, part.subarray(0, done + 2 * MARGIN - carry.length));
    const kept = Math.max(0, carry.length - done);
    this.#carry.copyWithin(0, carry.length - kept, carry.length);
    const rest = part.subarray(Math.max(0, done - carry.length));
    this.#carry.set(rest, kept);
    this.#carried = kept + rest.length;
    this.#base += done;
  }

  #search(carry: Int32Array, part: Int32Array): void {
    const { peak, index, samplePeak } = highestPlace(carry, part, this.#peak, this.#filter);
    this.#samplePeak = Math.max(this.#samplePeak, samplePeak);
    if (index === undefined) return;
    this.#peak = peak;
    this.#frame = this.#base + index;
  }
}

/** 8 times, from 64 kHz on 4 times: at every rate of the formats at least 192 kHz, what BS.1770 Annex 2 asks for at 48 kHz. */
function truePeakOversampling(rate: Rate): number {
  return rateHz(rate) < 64_000 ? 8 : 4;
}

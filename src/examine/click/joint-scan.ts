// First look for places where a waveform breaks for a moment: the fourth difference, to which all smooth sound is nearly
// nothing, stands far above its surroundings and is quiet again at once. Clicks, lost and doubled samples look so; attacks do
// not, as the sound after them goes on. Streaming in cells of fixed frames. Not for what the break is: the judges decide.
import { fourthDifference, fourthDifferencePeaks, PEAK_OWN, PEAK_PART, PEAK_VALUES } from '../../signal/index.ts';
import { RoughnessTally } from '../concealment/limits.ts';

const CELL = 1024;
/** Frames on both sides of a cell that are at hand while its joints are seen. */
const MARGIN = 160;
/** Rounding alone makes fourth differences of up to about this many steps. */
const ROUNDING = 16;
/** Joints below this are counted, not shown. */
const LEAST_RATIO = 4;

export interface Joint {
  readonly frame: number;
  /** the fourth difference here against the largest around */
  readonly ratio: number;
}

/** Sees a joint with the samples around: samples[at] is the joint's frame, `MARGIN` frames to each side are at hand. */
export type SeeJoint = (joint: Joint, samples: Int32Array, at: number) => void;

export class JointScan {
  readonly tail = new RatioTail();
  /** largest fourth difference around the places weighed, in units of the sample */
  readonly around = new RoughnessTally();
  readonly #samples = new Int32Array(CELL + 2 * MARGIN);
  readonly #peaks = new Float64Array((PEAK_VALUES * CELL) / PEAK_PART);
  readonly #see: SeeJoint;
  #filled = 0;
  /** frame of samples[0] */
  #start = 0;

  constructor(see: SeeJoint) {
    this.#see = see;
  }

  push(plane: Int32Array): void {
    const samples = this.#samples;
    for (let at = 0; at < plane.length; ) {
      const take = Math.min(plane.length - at, samples.length - this.#filled);
      samples.set(plane.subarray(at, at + take), this.#filled);
      this.#filled += take;
      at += take;
      if (this.#filled < samples.length) continue;
      this.#weigh(MARGIN, MARGIN + CELL);
      samples.copyWithin(0, CELL);
      this.#filled -= CELL;
      this.#start += CELL;
    }
  }

  /** Frames without MARGIN frames before and after them in the recording are not weighed. */
  finish(): void {
    const end = this.#filled - MARGIN;
    if (end > MARGIN) this.#weigh(MARGIN, end);
  }

  #weigh(from: number, to: number): void {
    const or = fourthDifferencePeaks(this.#samples, from, to - from, this.#peaks);
    const least = ROUNDING * (or === 0 ? 1 : or & -or);
    const values = PEAK_VALUES * Math.ceil((to - from) / PEAK_PART);
    for (let k = 0; k < values; k += PEAK_VALUES) {
      this.#weighPeak(from + this.#peaks[k], this.#peaks[k + 1], this.#peaks[k + 2], least);
    }
  }

  /** A break of up to three samples spreads over PEAK_OWN fourth differences to each side; `rest` is the largest beyond. */
  #weighPeak(at: number, peak: number, rest: number, least: number): void {
    // Nothing sounds here.
    if (rest === 0) return;
    const ratio = peak / Math.max(rest, least);
    this.tail.add(ratio);
    this.around.add(Math.max(rest, least));
    if (ratio < LEAST_RATIO) return;
    // A taller neighbour in the next part speaks for both.
    const x = this.#samples;
    for (let k = 1; k <= PEAK_OWN; k++) {
      if (fourthDifference(x, at - k) > peak || fourthDifference(x, at + k) > peak) return;
    }
    this.#see({ frame: this.#start + at, ratio }, x, at);
  }
}

const PER_OCTAVE = 16;
const LOWEST = -6;
const BINS = 32 * PER_OCTAVE;
/** The slope of the tail is taken between these shares; what is rarer may be the damage that is looked for. */
const UPPER_SHARE = 0.05;
const LOWER_SHARE = 0.005;
/** Fewest places above the lower end of the stretch that gives the slope. */
const FEWEST = 10;
/** Gaussian noise falls faster; heavier tails than a power of ten are taken as they are. Own choice. */
const STEEPEST = 10;

/** How often ratios come by chance, from the recording's own ratios, carried on beyond them as a power law. */
export class RatioTail {
  readonly #bins = new Float64Array(BINS);
  #places = 0;

  add(ratio: number): void {
    const bin = Math.floor(PER_OCTAVE * (Math.log2(Math.max(ratio, 2 ** LOWEST)) - LOWEST));
    this.#bins[Math.min(BINS - 1, bin)]++;
    this.#places++;
  }

  /** Number of places in the whole recording with at least that ratio, had nothing been damaged. */
  expected(ratio: number): number {
    const { share, from, slope } = this.#fit();
    return this.#places * share * Math.max(1, ratio / from) ** -slope;
  }

  /** The ratio of which so many are expected. */
  ratioFor(expected: number): number {
    const { share, from, slope } = this.#fit();
    return from * Math.max(1, (this.#places * share) / expected) ** (1 / slope);
  }

  #fit(): { readonly share: number; readonly from: number; readonly slope: number } {
    const share = Math.min(UPPER_SHARE, Math.max(LOWER_SHARE, FEWEST / Math.max(1, this.#places)));
    const [near, from] = [this.#quantile(2 * Math.max(UPPER_SHARE, share)), this.#quantile(share)];
    const slope = Math.log((2 * Math.max(UPPER_SHARE, share)) / share) / Math.max(1e-9, Math.log(from / near));
    return { share, from, slope: Math.min(STEEPEST, slope) };
  }

  /** Upper edge of the bin that the given share of ratios reaches. */
  #quantile(share: number): number {
    let above = 0;
    for (let bin = BINS - 1; bin > 0; bin--) {
      above += this.#bins[bin];
      if (above >= share * this.#places) return 2 ** ((bin + 1) / PER_OCTAVE + LOWEST);
    }
    return 2 ** LOWEST;
  }
}

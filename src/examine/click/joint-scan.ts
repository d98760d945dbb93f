// First look for places where a waveform breaks for a moment: the fourth difference, to which all smooth sound is nearly
// nothing, stands far above its surroundings and is quiet again at once. Clicks, lost and doubled samples look so; attacks do
// not, as the sound after them goes on. Streaming in cells of fixed frames. Not for what the break is: the judges decide.
import {
  BREAK_CELL,
  BREAKS_PER_OCTAVE,
  type Break,
  breakRatioOf,
  findBreaks,
  newBreakCounts,
  plainBreaks,
} from '../../signal/index.ts';
import { RoughnessTally } from '../concealment/limits.ts';

/** Frames on both sides of a cell that are at hand while its joints are seen. */
const MARGIN = 160;
/** Fourth differences are known so far from a joint. */
export const JOINT_SIGHT = MARGIN - 2;
/** Frames looked at together. */
const STRETCH = 32_768;
/** Joints below this are counted, not shown. */
const LEAST_RATIO = 4;

export interface Joint {
  readonly frame: number;
  /** the fourth difference here against the largest around */
  readonly ratio: number;
}

/** A joint with the samples around: samples[at] is the joint's frame, 160 frames to each side are at hand. */
export interface JointSeen {
  readonly joint: Joint;
  readonly samples: Int32Array;
  readonly at: number;
}

export class JointScan {
  readonly #counts = newBreakCounts();
  readonly tail = new RatioTail(this.#counts.ratios);
  /** samples not yet weighed and the margin before them */
  readonly #carry = new Int32Array(BREAK_CELL + 2 * MARGIN);
  #seen: JointSeen[] = [];
  #carried = 0;
  /** frame of the first sample carried */
  #start = 0;

  /** What the latest `push` or `finish` has shown. */
  get seen(): readonly JointSeen[] {
    return this.#seen;
  }

  push(plane: Int32Array): void {
    this.#seen = [];
    for (let at = 0; at < plane.length; at += STRETCH) this.#pushPart(plane.subarray(at, at + STRETCH));
  }

  #pushPart(part: Int32Array): void {
    const carry = this.#carry.subarray(0, this.#carried);
    const cells = Math.floor(Math.max(0, carry.length + part.length - 2 * MARGIN) / BREAK_CELL);
    if (cells > 0) this.#show(findBreaks(carry, part, MARGIN, cells, LEAST_RATIO, this.#counts), carry, part);
    const done = cells * BREAK_CELL;
    const kept = Math.max(0, carry.length - done);
    this.#carry.copyWithin(0, carry.length - kept, carry.length);
    const rest = part.subarray(Math.max(0, done - carry.length));
    this.#carry.set(rest, kept);
    this.#carried = kept + rest.length;
    this.#start += done;
  }

  /** Frames without MARGIN frames before and after them in the recording are not weighed. */
  finish(): void {
    this.#seen = [];
    const carry = this.#carry.subarray(0, this.#carried);
    const frames = carry.length - 2 * MARGIN;
    if (frames > 0) this.#show(plainBreaks(carry, MARGIN, frames, LEAST_RATIO, this.#counts), carry, new Int32Array(0));
  }

  /** Largest fourth difference around the places weighed, in units of the sample. */
  get around(): RoughnessTally {
    const tally = new RoughnessTally();
    // from the middle of a bin, so that rounding cannot move it
    for (const [bin, places] of this.#counts.sizes.entries()) tally.add(2 ** ((bin + 0.5) / BREAKS_PER_OCTAVE), places);
    return tally;
  }

  #show(breaks: readonly Break[], carry: Int32Array, part: Int32Array): void {
    for (const { index, ratio } of breaks) {
      const joint = { frame: this.#start + MARGIN + index, ratio };
      // MARGIN before the place is `index` itself.
      const samples = new Int32Array(2 * MARGIN + 1);
      const old = carry.subarray(index, index + samples.length);
      samples.set(old);
      const first = Math.max(0, index - carry.length);
      samples.set(part.subarray(first, first + samples.length - old.length), old.length);
      this.#seen.push({ joint, samples, at: MARGIN });
    }
  }
}

/** The slope of the tail is taken between these shares; what is rarer may be the damage that is looked for. */
const UPPER_SHARE = 0.05;
const LOWER_SHARE = 0.005;
/** Fewest places above the lower end of the stretch that gives the slope. */
const FEWEST = 10;
/** Gaussian noise falls faster; heavier tails than a power of ten are taken as they are. Own choice. */
const STEEPEST = 10;

interface Fit {
  readonly places: number;
  /** of the places, with ratios from `from` on, falling by a power law of that slope */
  readonly share: number;
  readonly from: number;
  readonly slope: number;
}

/** How often ratios come by chance, from the recording's own ratios, carried on beyond them as a power law. */
export class RatioTail {
  readonly #bins: Float64Array;
  #known: Fit | undefined;

  /** The counts may grow afterwards. */
  constructor(bins: Float64Array) {
    this.#bins = bins;
  }

  /** Number of places in the whole recording with at least that ratio, had nothing been damaged. */
  expected(ratio: number): number {
    const { places, share, from, slope } = this.#fit();
    return places * share * Math.max(1, ratio / from) ** -slope;
  }

  /** The ratio of which so many are expected. */
  ratioFor(expected: number): number {
    const { places, share, from, slope } = this.#fit();
    return from * Math.max(1, (places * share) / expected) ** (1 / slope);
  }

  /** Counts only grow: as many places, the same fit. */
  #fit(): Fit {
    let places = 0;
    for (const count of this.#bins) places += count;
    if (this.#known?.places === places) return this.#known;
    const share = Math.min(UPPER_SHARE, Math.max(LOWER_SHARE, FEWEST / Math.max(1, places)));
    const upper = 2 * Math.max(UPPER_SHARE, share);
    const [near, from] = [this.#reachedBy(upper * places), this.#reachedBy(share * places)];
    const slope = Math.log(upper / share) / Math.max(1e-9, Math.log(from / near));
    this.#known = { places, share, from, slope: Math.min(STEEPEST, slope) };
    return this.#known;
  }

  /** Upper edge of the bin that so many of the largest ratios reach. */
  #reachedBy(places: number): number {
    let above = 0;
    for (let bin = this.#bins.length - 1; bin > 0; bin--) {
      above += this.#bins[bin];
      if (above >= places) return breakRatioOf(bin + 1);
    }
    return breakRatioOf(0);
  }
}

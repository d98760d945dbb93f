// Loudness of a recording that streams by: integrated, momentary and short-term maxima, range. ITU-R BS.1770 and EBU Tech 3341
// and 3342. Push samples, then ask once. Keeps one number per channel and 100 ms; not for true peaks (true-peak.ts).
import type { Rate } from '../base/index.ts';
import { kWeighting, WEIGHTING_STATE, type WeightingLoop, weightingLoop } from './loudness-filter.ts';
import { type GatedLoudness, gatedLoudness, loudnessOf, loudnessRange } from './loudness-gate.ts';
import { weightedEnergies } from './simd/weighted-energy.ts';

export interface LoudnessOptions {
  readonly rate: Rate;
  /** width of the integer samples: full scale is 2^(bits-1) */
  readonly bits: number;
  /** one per channel: 1 for left, right, centre, 1.41 for surrounds, 0 for low-frequency effects (BS.1770 table 3) */
  readonly weights: readonly number[];
}

/** LUFS and LU; null where no block of the kind is above -70 LUFS or the recording is too short for one. */
export interface LoudnessReading {
  readonly integrated: number | null;
  readonly range: number | null;
  /** highest over 400 ms and over 3 s, looked at every 10 ms */
  readonly maxMomentary: number | null;
  readonly maxShortTerm: number | null;
  readonly gating: GatedLoudness;
  /** integrated loudness of each channel alone, gated by itself, weight 1 */
  readonly channels: readonly (number | null)[];
}

/** Steps of 10 ms: a maximum can lie between two blocks of 100 ms, and EBU Tech 3341 case 13 moves by 20 ms. */
const FINE_PER_SECOND = 100;
const FINE_PER_STEP = 10;
const MOMENTARY_STEPS = 4;
const SHORT_TERM_STEPS = 30;
const RING = SHORT_TERM_STEPS * FINE_PER_STEP;

export class LoudnessMeter {
  readonly #options: LoudnessOptions;
  readonly #loop: WeightingLoop;
  readonly #states: readonly Float64Array[];
  /** per channel the energy of each whole step of 100 ms */
  readonly #steps: Float64Array[];
  /** energy of the channel's step so far */
  readonly #partial: Float64Array;
  /** weighted energy of the last fine steps, and of the ten that end at each of them */
  readonly #fine = new Float64Array(RING);
  readonly #tens = new Float64Array(RING);
  #fineSteps = 0;
  #frames = 0;
  #maxMomentary = 0;
  #maxShortTerm = 0;

  constructor(options: LoudnessOptions) {
    this.#options = options;
    this.#loop = weightingLoop(kWeighting(options.rate));
    this.#states = options.weights.map(() => new Float64Array(WEIGHTING_STATE));
    this.#steps = options.weights.map(() => new Float64Array(1024));
    this.#partial = new Float64Array(options.weights.length);
  }

  /** Consecutive samples, one plane per weight, all of `frames` samples. */
  push(planes: readonly Int32Array[], frames: number): void {
    const ends: number[] = [];
    for (let count = this.#fineSteps + 1; this.#edge(count) <= this.#frames + frames; count++) {
      ends.push(this.#edge(count) - this.#frames);
    }
    const { bits, weights } = this.#options;
    const energies = weightedEnergies(planes, frames, bits, ends, this.#loop.coefficients, this.#states);
    this.#frames += frames;
    for (let k = 0; k < ends.length; k++) this.#closeFine(energies.subarray(k * weights.length));
  }

  /** A last step of less than 100 ms does not count: BS.1770 drops an incomplete block. */
  finish(): LoudnessReading {
    const { weights } = this.#options;
    const total = new Float64Array(this.#wholeSteps());
    for (const [c, weight] of weights.entries()) {
      for (let k = 0; k < total.length; k++) total[k] += weight * this.#steps[c][k];
    }
    const gating = gatedLoudness(this.#windows(total, MOMENTARY_STEPS));
    return {
      integrated: gating.loudness,
      range: loudnessRange(this.#windows(total, SHORT_TERM_STEPS)),
      maxMomentary: audible(this.#maxMomentary),
      maxShortTerm: audible(this.#maxShortTerm),
      gating,
      channels: this.#steps.map((steps) => gatedLoudness(this.#windows(steps, MOMENTARY_STEPS)).loudness),
    };
  }

  /** First frame after fine step `count`: exact for rates where 10 ms is no whole number of frames. */
  #edge(count: number): number {
    const { num, den } = this.#options.rate;
    return Math.floor((2 * count * num + FINE_PER_SECOND * den) / (2 * FINE_PER_SECOND * den));
  }

  #wholeSteps(): number {
    return Math.floor(this.#fineSteps / FINE_PER_STEP);
  }

  #closeFine(energies: Float64Array): void {
    const { weights } = this.#options;
    let weighted = 0;
    for (let c = 0; c < weights.length; c++) {
      this.#partial[c] += energies[c];
      weighted += weights[c] * energies[c];
    }
    this.#fineSteps++;
    this.#keepMaxima(weighted);
    if (this.#fineSteps % FINE_PER_STEP === 0) this.#closeStep();
  }

  #keepMaxima(weighted: number): void {
    const last = this.#fineSteps - 1;
    this.#fine[last % RING] = weighted;
    let ten = 0;
    for (let k = Math.max(0, last - FINE_PER_STEP + 1); k <= last; k++) ten += this.#fine[k % RING];
    this.#tens[last % RING] = ten;
    this.#maxMomentary = Math.max(this.#maxMomentary, this.#meanOfLast(MOMENTARY_STEPS));
    this.#maxShortTerm = Math.max(this.#maxShortTerm, this.#meanOfLast(SHORT_TERM_STEPS));
  }

  /** Mean square over the last `steps` times 100 ms, 0 before there are that many. */
  #meanOfLast(steps: number): number {
    const first = this.#fineSteps - steps * FINE_PER_STEP;
    if (first < 0) return 0;
    let energy = 0;
    for (let k = first + FINE_PER_STEP - 1; k < this.#fineSteps; k += FINE_PER_STEP) energy += this.#tens[k % RING];
    return (energy * this.#scale()) / (this.#edge(this.#fineSteps) - this.#edge(first));
  }

  #closeStep(): void {
    const at = this.#wholeSteps() - 1;
    for (let c = 0; c < this.#steps.length; c++) {
      if (at === this.#steps[c].length) this.#steps[c] = doubled(this.#steps[c]);
      this.#steps[c][at] = this.#partial[c];
      this.#partial[c] = 0;
    }
  }

  /** Mean squares of all windows of `steps` steps, one starting at every step. */
  #windows(energies: Float64Array, steps: number): Float64Array {
    const windows = new Float64Array(Math.max(0, this.#wholeSteps() - steps + 1));
    for (let k = 0; k < windows.length; k++) {
      let energy = 0;
      for (let j = k; j < k + steps; j++) energy += energies[j];
      const frames = this.#edge((k + steps) * FINE_PER_STEP) - this.#edge(k * FINE_PER_STEP);
      windows[k] = (energy * this.#scale()) / frames;
    }
    return windows;
  }

  /** Squared steps to squared full scale. */
  #scale(): number {
    return this.#loop.energyScale / 4 ** (this.#options.bits - 1);
  }
}

function audible(meanSquare: number): number | null {
  const loudness = loudnessOf(meanSquare);
  return loudness > -70 ? loudness : null;
}

function doubled(values: Float64Array): Float64Array {
  const more = new Float64Array(values.length * 2);
  more.set(values);
  return more;
}

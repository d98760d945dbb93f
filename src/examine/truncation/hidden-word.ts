// A shorter word under noise narrower than its step: the samples crowd around multiples of 2^k instead of spreading between them. Sound
// far larger than the step spreads evenly over its phases, so the mean phase of a window points anywhere; windows that all point the
// same way are the evidence: |sum z|^2 / sum |z|^2 is exponentially distributed by chance, each window counted once.

export interface HiddenWordAnswer {
  readonly wordBits: number;
  /** standard deviation of the noise, in steps of the container */
  readonly noiseSteps: number;
  readonly chance: number;
}

interface Phase {
  readonly k: number;
  /** over the samples near zero, and over all */
  readonly near: Mean;
  readonly all: Mean;
}

interface Mean {
  re: number;
  im: number;
  /** of the sums of the single windows */
  squares: number;
  samples: number;
  windows: number;
}

/** length of the mean phase that is convincing: sigma of the noise below 0.29 of the step */
const LEAST_LENGTH = 0.2;
const LOUD = 16;
const FARTHEST = 12;
/** Samples near zero that one window is asked for: more of the same moment say little more. */
const MOST_NEAR = 16;
/** So many, because half of them are near enough for the next step too, half of those for the one after. */
const LIST = 128;

export class HiddenWord {
  readonly #bits: number;
  readonly #phases: readonly Phase[];
  #re = new Float64Array(0);
  #im = new Float64Array(0);
  readonly #near = new Int32Array(LIST + 1);

  constructor(bits: number) {
    this.#bits = bits;
    this.#phases = Array.from({ length: Math.min(FARTHEST, bits - 8) }, (_, n) => ({
      k: n + 1,
      near: emptyMean(),
      all: emptyMean(),
    }));
  }

  /** The samples near zero of every window given, all of them only where asked. `largest`: of the magnitudes in the window. */
  push(plane: Int32Array, largest: number, isWhole: boolean): void {
    const from = this.#phases.findLastIndex(({ k }) => largest >= 2 * LOUD * 2 ** k);
    if (from < 0) return;
    if (this.#re.length < plane.length) this.#makeRoom(plane.length);
    this.#pushNear(plane, from);
    if (isWhole) this.#pushAll(plane, from);
  }

  #makeRoom(frames: number): void {
    this.#re = new Float64Array(frames);
    this.#im = new Float64Array(frames);
  }

  #pushNear(plane: Int32Array, from: number): void {
    const list = this.#near;
    let count = keepNear(plane, plane.length, borderOf(this.#phases[from]), list);
    for (let n = from; n >= 0 && count > 0; n--) {
      const { k, near } = this.#phases[n];
      if (n < from) count = keepNear(list, count, borderOf(this.#phases[n]), list);
      addNear(near, k, list, Math.min(count, MOST_NEAR));
    }
  }

  #pushAll(plane: Int32Array, from: number): void {
    turn(plane, this.#phases[from].k, this.#re, this.#im);
    for (let n = from; n >= 0; n--) addAll(this.#phases[n].all, this.#re, this.#im, plane.length);
  }

  /** `step`: what the word length is known to leave unused; a word hides above it. The longest step that crowds. */
  answer(step: number): HiddenWordAnswer | undefined {
    for (const phase of this.#phases.toReversed()) {
      // Every second level alone may be an uneven converter, or a gain near two.
      if (phase.k < step + 2 || phase.all.windows < 8) continue;
      const length = Math.min(lengthOf(phase.near), lengthOf(phase.all));
      const chance = Math.min(1, this.#phases.length * Math.max(chanceOf(phase.near), chanceOf(phase.all)));
      if (length < LEAST_LENGTH || chance > 1e-6) continue;
      const noiseSteps = (2 ** phase.k * Math.sqrt(-2 * Math.log(Math.min(1, length)))) / (2 * Math.PI);
      return { wordBits: this.#bits - phase.k, noiseSteps, chance };
    }
    return undefined;
  }
}

function emptyMean(): Mean {
  return { re: 0, im: 0, squares: 0, samples: 0, windows: 0 };
}

/** A companding law crowds on wide steps where it is loud, a comb of another gain only near zero; a word, everywhere alike. */
function borderOf({ k }: Phase): number {
  return (LOUD / 4) * 2 ** k;
}

/** Angles of one turn in 2^FARTHEST parts. */
const TURNS = 2 ** FARTHEST;
const ANGLES = Array.from({ length: TURNS }, (_, n) => (2 * Math.PI * n) / TURNS);
const COS = Float64Array.from(ANGLES, Math.cos);
const SIN = Float64Array.from(ANGLES, Math.sin);

/** z = e^(2 pi i x / 2^k) */
function turn(plane: Int32Array, k: number, re: Float64Array, im: Float64Array): void {
  for (let i = 0; i < plane.length; i++) {
    const at = (plane[i] << (FARTHEST - k)) & (TURNS - 1);
    re[i] = COS[at];
    im[i] = SIN[at];
  }
}

/** Copies those of the first `count` samples that are near enough, until the list is full; their number. `to` may be `from`. */
function keepNear(from: Int32Array, count: number, border: number, to: Int32Array): number {
  let n = 0;
  for (let i = 0; i < count && n < LIST; i++) {
    const x = from[i];
    to[n] = x;
    n += x <= border && x >= -border ? 1 : 0;
  }
  return n;
}

function addNear(mean: Mean, k: number, samples: Int32Array, count: number): void {
  let [re, im] = [0, 0];
  for (let i = 0; i < count; i++) {
    const at = (samples[i] << (FARTHEST - k)) & (TURNS - 1);
    re += COS[at];
    im += SIN[at];
  }
  addMean(mean, re, im, count);
}

/** Leaves z^2 behind: the phases of the step half as wide. */
function addAll(mean: Mean, re: Float64Array, im: Float64Array, count: number): void {
  let [sumRe, sumIm] = [0, 0];
  for (let i = 0; i < count; i++) {
    const c = re[i];
    const s = im[i];
    sumRe += c;
    sumIm += s;
    re[i] = c * c - s * s;
    im[i] = 2 * c * s;
  }
  addMean(mean, sumRe, sumIm, count);
}

function lengthOf({ re, im, samples }: Mean): number {
  return samples === 0 ? 0 : Math.hypot(re, im) / samples;
}

function chanceOf({ re, im, squares }: Mean): number {
  return squares === 0 ? 1 : Math.exp(-(re * re + im * im) / squares);
}

function addMean(mean: Mean, re: number, im: number, n: number): void {
  if (n === 0) return;
  mean.re += re;
  mean.im += im;
  mean.squares += re * re + im * im;
  mean.samples += n;
  mean.windows++;
}

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
  readonly cos: Float64Array;
  readonly sin: Float64Array;
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

export class HiddenWord {
  readonly #bits: number;
  readonly #phases: readonly Phase[];

  constructor(bits: number) {
    this.#bits = bits;
    this.#phases = Array.from({ length: Math.min(FARTHEST, bits - 8) }, (_, n) => phaseOf(n + 1));
  }

  push(plane: Int32Array): void {
    let largest = 0;
    for (let i = 0; i < plane.length; i++) largest = Math.max(largest, plane[i] < 0 ? -plane[i] : plane[i]);
    for (const phase of this.#phases)
      if (largest >= 2 * LOUD * 2 ** phase.k) addWindow(phase, plane, (LOUD / 4) * 2 ** phase.k);
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

function phaseOf(k: number): Phase {
  const size = 2 ** k;
  const turn = (2 * Math.PI) / size;
  const none = (): Mean => ({ re: 0, im: 0, squares: 0, samples: 0, windows: 0 });
  return {
    k,
    cos: Float64Array.from({ length: size }, (_, n) => Math.cos(turn * n)),
    sin: Float64Array.from({ length: size }, (_, n) => Math.sin(turn * n)),
    near: none(),
    all: none(),
  };
}

function lengthOf({ re, im, samples }: Mean): number {
  return samples === 0 ? 0 : Math.hypot(re, im) / samples;
}

function chanceOf({ re, im, squares }: Mean): number {
  return squares === 0 ? 1 : Math.exp(-(re * re + im * im) / squares);
}

/** A companding law crowds on wide steps where it is loud, a comb of another gain only near zero; a word, everywhere alike. */
function addWindow({ cos, sin, near, all }: Phase, plane: Int32Array, border: number): void {
  const mask = cos.length - 1;
  let [re, im, n] = [0, 0, 0];
  let [nearRe, nearIm, nearN] = [0, 0, 0];
  for (let i = 0; i < plane.length; i++) {
    const x = plane[i];
    const c = cos[x & mask];
    const s = sin[x & mask];
    re += c;
    im += s;
    n++;
    if (x > border || x < -border) continue;
    nearRe += c;
    nearIm += s;
    nearN++;
  }
  addMean(all, re, im, n);
  addMean(near, nearRe, nearIm, nearN);
}

function addMean(mean: Mean, re: number, im: number, n: number): void {
  if (n === 0) return;
  mean.re += re;
  mean.im += im;
  mean.squares += re * re + im * im;
  mean.samples += n;
  mean.windows++;
}

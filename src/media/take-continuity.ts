// Whether the samples at the end of one file plausibly go on at the beginning of another. A predictor fitted to the end looks
// across the joint: its errors there are compared with its errors elsewhere, and with what joints at wrong places would give.
// Pure arithmetic. Common practice (linear prediction), no source for the limits; the chance is measured on the same samples.

/** Frames looked at on either side. */
export const TAIL_FRAMES = 4096;
export const HEAD_FRAMES = 2048;

const ORDER = 16;
/** Errors at a true joint stay below this times the largest seen elsewhere in the 6144 frames. */
const MARGIN = 1.5;
/** Beyond this times that limit the joint is called broken; between the two nothing is said. */
const BROKEN = 3;
/** Wrong joints tried on each side. */
const TRIALS = 100;
const MOST_CHANCE = 0.05;

export interface Continuity {
  readonly says: 'joined' | 'apart' | 'nothing';
  /** share of joints at wrong places that look as good */
  readonly chance: number;
}

/** `tail`: the last frames of the first file, `head`: the first ones of the second, by channel. */
export function judgeContinuity(tail: readonly Int32Array[], head: readonly Int32Array[]): Continuity {
  const channels = tail.map((plane, c) => new JointChannel(plane, head[c])).filter((channel) => channel.isUsable);
  const length = tail[0]?.length ?? 0;
  const headLength = head[0]?.length ?? 0;
  if (channels.length === 0 || length < 4 * ORDER || headLength < 4 * ORDER) return { says: 'nothing', chance: 1 };
  const worst = Math.max(...channels.map((channel) => channel.ratioAt(length, 0)));
  let good = 0;
  for (let trial = 0; trial < TRIALS; trial++) {
    const share = (trial + 0.5) / TRIALS;
    const cut = ORDER + Math.floor(share * (length - 2 * ORDER));
    const from = ORDER + Math.floor(share * (headLength - 2 * ORDER));
    if (channels.every((channel) => channel.ratioAt(cut, 0) <= 1)) good++;
    if (channels.every((channel) => channel.ratioAt(length, from) <= 1)) good++;
  }
  const chance = (good + 1) / (2 * TRIALS + 1);
  if (worst > BROKEN) return { says: 'apart', chance };
  return { says: worst <= 1 && chance <= MOST_CHANCE ? 'joined' : 'nothing', chance };
}

class JointChannel {
  readonly isUsable: boolean;
  readonly #tail: Int32Array;
  readonly #head: Int32Array;
  readonly #filter: Float64Array;
  readonly #limit: number;

  constructor(tail: Int32Array, head: Int32Array) {
    this.#tail = tail;
    this.#head = head;
    this.isUsable = tail.some((sample) => sample !== tail[0]) && head.some((sample) => sample !== head[0]);
    this.#filter = this.isUsable ? fitPredictor(tail) : new Float64Array(ORDER);
    const seen = Math.max(largestError(tail, this.#filter), largestError(head, this.#filter));
    this.#limit = MARGIN * Math.max(1, seen);
  }

  /** Largest error over the first samples behind the joint of tail[..cut) and head[from..), as a share of the limit. */
  ratioAt(cut: number, from: number): number {
    let largest = 0;
    for (let i = 0; i < ORDER && from + i < this.#head.length; i++) {
      let predicted = 0;
      for (let k = 1; k <= ORDER; k++) {
        const past = i >= k ? this.#head[from + i - k] : this.#tail[cut + i - k];
        predicted += this.#filter[k - 1] * (past ?? 0);
      }
      largest = Math.max(largest, Math.abs(this.#head[from + i] - predicted));
    }
    return largest / this.#limit;
  }
}

function largestError(plane: Int32Array, filter: Float64Array): number {
  let largest = 0;
  for (let n = ORDER; n < plane.length; n++) {
    let predicted = 0;
    for (let k = 1; k <= ORDER; k++) predicted += filter[k - 1] * plane[n - k];
    largest = Math.max(largest, Math.abs(plane[n] - predicted));
  }
  return largest;
}

/** Autocorrelation under a Hann window, then the recursion of Levinson and Durbin. */
function fitPredictor(plane: Int32Array): Float64Array {
  const lags = new Float64Array(ORDER + 1);
  const windowed = Float64Array.from(
    plane,
    (v, i) => v * (0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / plane.length)),
  );
  for (let lag = 0; lag <= ORDER; lag++)
    for (let n = lag; n < windowed.length; n++) lags[lag] += windowed[n] * windowed[n - lag];
  // A floor of noise keeps the recursion stable on pure tones.
  lags[0] = lags[0] * (1 + 1e-9) + 1e-9;
  const filter = new Float64Array(ORDER);
  const before = new Float64Array(ORDER);
  let error = lags[0];
  for (let m = 0; m < ORDER; m++) {
    let sum = lags[m + 1];
    for (let k = 0; k < m; k++) sum -= filter[k] * lags[m - k];
    const reflection = sum / error;
    before.set(filter);
    filter[m] = reflection;
    for (let k = 0; k < m; k++) filter[k] = before[k] - reflection * before[m - 1 - k];
    error *= 1 - reflection * reflection;
    if (!(error > 0)) break;
  }
  return filter;
}

// How far apart the values lie that the sound uses at a given level. Companded sound uses them coarsely where it is loud, whatever
// the file's own step: equal neighbours and means are commoner there, and their chance is taken from this. Also for a law under a
// gain, or only in a part of the file. Not for naming a law (code-book/).

/** Used values looked at beside a value, above and below. */
const BESIDE = 12;
/** of which one may be concealed, and lie anywhere */
const MAY_STRAY = 1;
/** Samples that tell which values are in use. */
const FEWEST_SAMPLES = 256;
/** A lattice under a gain shows in every single gap from so many steps on; below, rounding blurs it and all gaps speak together. */
const LEAST_SCALED = 8;
/** Gaps of one or two lattice steps; a wider one tells nothing of a fine lattice. */
const WIDEST_FINE_GAP = 2;
/** Gaps of so many lattice steps are still told from others. */
const WIDEST_GAP = 4;
/** Of a lattice in sound that keeps none; for each of the four sets of values beside a value. */
const CHANCE = 2 ** -9;
/** Wider than any law's steps. */
const MOST_OCTAVES = 16;
/** Samples of a row that are asked. */
const MOST_PLACES = 64;

/** The values that sound before and after a candidate: a law may begin or end there, so each side speaks for itself. */
export class LocalValues {
  readonly #sides: readonly Int32Array[];
  readonly #base: number;

  /** `step`: that of the recording, the finest that is meant. */
  constructor(samples: Int32Array, from: number, to: number, step: number) {
    const sides = [samples.subarray(0, from), samples.subarray(to)];
    this.#sides = sides.filter(({ length }) => length >= FEWEST_SAMPLES).map(usedValues);
    this.#base = step;
  }

  /** The geometric mean over the samples at the given places; over some of them where they are many. */
  stepOver(samples: Int32Array, from: number, to: number, isMeant: (i: number) => boolean = () => true): number {
    let [sum, places, last, lastStep] = [0, 0, Number.NaN, this.#base];
    const stride = Math.max(1, Math.floor((to - from) / MOST_PLACES));
    for (let start = from; start < to; start += stride) {
      let i = start;
      while (i < Math.min(to, start + stride) && !isMeant(i)) i++;
      if (i === Math.min(to, start + stride)) continue;
      if (samples[i] !== last) lastStep = this.stepAt(samples[i]);
      last = samples[i];
      sum += Math.log2(lastStep);
      places++;
    }
    return places === 0 ? this.#base : 2 ** (sum / places);
  }

  /** The spacing of the values used around `value`; the recording's own step where they keep no other, or `value` does not keep it. */
  stepAt(value: number): number {
    let step = 1;
    for (const values of this.#sides) {
      const at = lowerBound(values, value);
      const above = values[at] === value ? at + 1 : at;
      step = Math.max(step, this.#stepBeside(values, value, at - 1, -1), this.#stepBeside(values, value, above, 1));
    }
    return step * this.#base;
  }

  /** Of the values from index `at` on, upwards or downwards: the distances ascend. */
  #stepBeside(values: Int32Array, value: number, at: number, direction: 1 | -1): number {
    let n = 0;
    for (let i = at; n < BESIDE && i >= 0 && i < values.length; i += direction) {
      distances[n++] = Math.abs(values[i] - value) / this.#base;
    }
    return Math.max(dyadicOf(n), scaledOf(n));
  }
}

/** Those of the set that is asked for, and their gaps: thousands of sets are, one after the other. */
const distances = new Float64Array(BESIDE);
const gaps = new Float64Array(BESIDE);
const ordered = new Float64Array(BESIDE);

/** Ascending, each once. */
function usedValues(samples: Int32Array): Int32Array {
  const sorted = samples.slice().sort();
  let n = 0;
  for (let i = 0; i < sorted.length; i++) if (i === 0 || sorted[i] !== sorted[i - 1]) sorted[n++] = sorted[i];
  return sorted.subarray(0, n);
}

/** The largest power of two that the distances are multiples of, all or all but one: so that chance would hardly make it. */
function dyadicOf(n: number): number {
  for (let step = 2 ** MOST_OCTAVES; step > 1; step /= 2) {
    let off = 0;
    for (let k = 0; k < n && off <= MAY_STRAY; k++) if (distances[k] % step !== 0) off++;
    const choices = off === 0 ? 1 : n;
    if (off <= MAY_STRAY && choices * step ** -(n - off) < CHANCE) return step;
  }
  return 1;
}

/** The spacing of values that were rounded after a gain; 1 where there is none. */
function scaledOf(n: number): number {
  if (n === 0) return 1;
  for (let k = 0; k < n; k++) gaps[k] = distances[k] - (k === 0 ? 0 : distances[k - 1]);
  ordered.set(gaps);
  const step = ordered.subarray(0, n).sort()[n >> 2];
  if (step < LEAST_SCALED) return finelyScaledOf(n);
  const isOn = (gap: number) => {
    const times = Math.round(gap / step);
    return times <= WIDEST_GAP && Math.abs(gap - times * step) <= times;
  };
  let kept = 0;
  for (let k = 0; k < n; k++) if (isOn(gaps[k])) kept++;
  // The first gap is that to the value itself.
  const isKept = isOn(gaps[0]) && kept >= n - 2 * MAY_STRAY;
  return isKept && (5 / step) ** kept * n < CHANCE ? step : 1;
}

/** The same for two to eight steps: the gaps there are now `base`, now one more. Without a lattice gaps of every size would be there, each
 * as likely as the values in use are dense. */
function finelyScaledOf(n: number): number {
  const density = n / distances[n - 1];
  for (let base = 2; base < LEAST_SCALED; base++) {
    for (let widest = 1; widest <= WIDEST_FINE_GAP; widest++) {
      const isOn = (gap: number) => {
        const times = Math.round(gap / (base + 0.5));
        return times >= 1 && times <= widest && gap >= times * base && gap <= times * (base + 1);
      };
      let [kept, single, sum] = [0, 0, 0];
      for (let k = 0; k < n; k++) {
        if (!isOn(gaps[k])) continue;
        kept++;
        if (gaps[k] > base + 1) continue;
        single++;
        sum += gaps[k];
      }
      if (!isOn(gaps[0]) || kept < n - MAY_STRAY || 2 * single < n) continue;
      const choices = 2 * WIDEST_FINE_GAP * (kept === n ? 1 : n);
      if (choices * shareOn(isOn, widest * (base + 1), density) ** kept < CHANCE) return sum / single;
    }
  }
  return 1;
}

/** Of gaps between values that are in use by chance, each with that probability. */
function shareOn(isOn: (gap: number) => boolean, widest: number, density: number): number {
  let share = 0;
  for (let gap = 2; gap <= widest; gap++) if (isOn(gap)) share += density * (1 - density) ** (gap - 1);
  return share;
}

function lowerBound(values: Int32Array, value: number): number {
  let [low, high] = [0, values.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle] < value) low = middle + 1;
    else high = middle;
  }
  return low;
}

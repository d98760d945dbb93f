// Does a sample look like an estimate of the deck? And how often do undamaged samples nearby look like that by chance?
// Says nothing about which read is right; conceal-marks.ts weighs, vote.ts decides.

/** Bits of the look of one sample. Common practice of error concealment in decks (first and zero order, mute); no source. */
export const LOOK_MEAN = 1; // the mean of its two neighbours, or on a line: second difference within 1 step
export const LOOK_NEAR_MEAN = 2; // the same with a second difference within 2 steps (mixed rounding)
export const LOOK_HELD = 4; // equal to the sample before it
export const LOOK_ZERO = 8;
export const LOOKS = [LOOK_MEAN, LOOK_NEAR_MEAN, LOOK_HELD, LOOK_ZERO] as const;
const ALL_LOOKS = LOOK_MEAN | LOOK_NEAR_MEAN | LOOK_HELD | LOOK_ZERO;

export const LOOK_WORDS: Readonly<Record<number, string>> = {
  [LOOK_MEAN]: 'interpolated',
  [LOOK_NEAR_MEAN]: 'interpolated',
  [LOOK_HELD]: 'held',
  [LOOK_ZERO]: 'muted',
};

/** Frames [from, to) of the plane are known; outside there is no neighbour. `step` is the smallest true step. */
export function lookOf(plane: Int32Array, at: number, from: number, to: number, step: number): number {
  const value = plane[at];
  let look = value === 0 ? LOOK_ZERO : 0;
  if (at > from) {
    const before = plane[at - 1];
    if (before === value) look |= LOOK_HELD;
    if (at + 1 < to) {
      const bend = Math.abs(before + plane[at + 1] - 2 * value);
      if (bend <= step) look |= LOOK_MEAN | LOOK_NEAR_MEAN;
      else if (bend <= 2 * step) look |= LOOK_NEAR_MEAN;
    }
  }
  return look;
}

/** Lowest set bit of all samples in [from, to): 256 for 16 bit in a 24 bit file; 1 where there is nothing to see. */
export function stepOf(planes: readonly Int32Array[], from: number, to: number): number {
  let bits = 0;
  for (const plane of planes) for (let i = from; i < to; i++) bits |= plane[i];
  return bits === 0 ? 1 : Math.abs(bits & -bits);
}

/** Chance of each look among undamaged samples, per read, and of all reads looking concealed at once. */
export interface LookChance {
  /** [read][index into LOOKS], each in 0..1 */
  readonly byRead: readonly Float64Array[];
  readonly all: number;
  /** samples it was measured on */
  readonly samples: number;
}

/**
 * Measured on the frames of the given ranges where all reads are equal. Never below 1/(samples + 1): what was not seen in
 * n places may still happen once in n.
 */
export function lookChance(
  planes: readonly Int32Array[],
  ranges: readonly (readonly [number, number])[],
  from: number,
  to: number,
  step: number,
): LookChance {
  const counts = planes.map(() => new Float64Array(ALL_LOOKS + 1));
  let samples = 0;
  let all = 0;
  for (const [first, end] of ranges) {
    for (let i = first; i < end; i++) {
      if (!equalAt(planes, i)) continue;
      samples++;
      let looking = 0;
      for (let r = 0; r < planes.length; r++) {
        const look = lookOf(planes[r], i, from, to, step);
        counts[r][look]++;
        if (look !== 0) looking++;
      }
      if (looking === planes.length) all++;
    }
  }
  const share = (count: number) => (count + 1) / (samples + 1);
  return {
    byRead: counts.map((c) => Float64Array.from(LOOKS, (bit) => share(sumWith(c, bit)))),
    all: share(all),
    samples,
  };
}

/** Sum of the counts of all looks that have the bit. */
function sumWith(counts: Float64Array, bit: number): number {
  return counts.reduce((sum, count, look) => (look & bit ? sum + count : sum), 0);
}

export function equalAt(planes: readonly Int32Array[], at: number): boolean {
  const value = planes[0][at];
  for (let r = 1; r < planes.length; r++) if (planes[r][at] !== value) return false;
  return true;
}

// Gating, loudness range and the loudness scale on mean squares that were measured before. Not for filtering samples.
// ITU-R BS.1770 Annex 1 (integrated loudness) and EBU Tech 3342 (loudness range).

/** ITU-R BS.1770: a mean square of 1 in one channel of weight 1, K-weighted, is this many LKFS. */
const OFFSET_LU = -0.691;
const ABSOLUTE_GATE_LUFS = -70;
/** relative gates below the mean of what passed the absolute gate: BS.1770, Tech 3342 */
const INTEGRATED_GATE_LU = -10;
const RANGE_GATE_LU = -20;
/** percentiles of Tech 3342 */
const RANGE_LOW = 0.1;
const RANGE_HIGH = 0.95;

export interface GatedLoudness {
  /** LUFS; null when no block is above the absolute gate */
  readonly loudness: number | null;
  /** LUFS; null likewise */
  readonly relativeGate: number | null;
  readonly blocks: number;
  readonly aboveAbsolute: number;
  readonly aboveRelative: number;
}

/** Mean square, summed over weighted channels, to LUFS. -Infinity for nothing. */
export function loudnessOf(meanSquare: number): number {
  return OFFSET_LU + 10 * Math.log10(meanSquare);
}

/** Integrated loudness from the mean squares of the gating blocks (400 ms, three quarters overlapping). */
export function gatedLoudness(blocks: Float64Array): GatedLoudness {
  const audible = above(blocks, ABSOLUTE_GATE_LUFS);
  const nothing = { loudness: null, relativeGate: null, aboveRelative: 0 };
  const counts = { blocks: blocks.length, aboveAbsolute: audible.length };
  if (audible.length === 0) return { ...counts, ...nothing };
  const relativeGate = loudnessOf(mean(audible)) + INTEGRATED_GATE_LU;
  const counted = above(audible, relativeGate);
  return { ...counts, loudness: loudnessOf(mean(counted)), relativeGate, aboveRelative: counted.length };
}

/** Loudness range in LU from short-term mean squares (3 s); null when none is above the absolute gate. */
export function loudnessRange(shortTerm: Float64Array): number | null {
  const audible = above(shortTerm, ABSOLUTE_GATE_LUFS);
  if (audible.length === 0) return null;
  const gate = loudnessOf(mean(audible)) + RANGE_GATE_LU;
  const counted = above(audible, gate).sort();
  const at = (share: number) => counted[Math.round((counted.length - 1) * share)];
  return loudnessOf(at(RANGE_HIGH)) - loudnessOf(at(RANGE_LOW));
}

/** A loop, as these are many at the end of a long tape, and a function for each is not compiled by then. */
function above(meanSquares: Float64Array, gateLufs: number): Float64Array {
  const kept = new Float64Array(meanSquares.length);
  let count = 0;
  for (let k = 0; k < meanSquares.length; k++)
    if (loudnessOf(meanSquares[k]) > gateLufs) kept[count++] = meanSquares[k];
  return kept.slice(0, count);
}

function mean(values: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += values[k];
  return sum / values.length;
}

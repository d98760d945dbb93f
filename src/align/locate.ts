// Where in a long feature does a short piece of another lie? Whitened correlation block by block, and how far the best
// place stands out from all the others.
import { correlationOf, crossSpectrum, fftPlan, fftSize, whiten } from '../signal/index.ts';

export interface Located {
  /** position of the piece's first value in the long feature; may be negative when it begins before */
  readonly at: number;
  /** peak over the standard deviation of all places */
  readonly significance: number;
}

/** Places closer than this are one. */
const CLEAR_LAGS = 6;
const PER_BLOCK = 4;

/** The best places, the best first; none when either side is silent. `piece` must not be longer than 2^20 values. */
export function locate(long: Float64Array, piece: Float64Array, most = PER_BLOCK): Located[] {
  const width = piece.length;
  if (width < 32 || !piece.some((v) => v !== 0)) return [];
  const plan = fftPlan(fftSize(3 * width));
  const faded = fade(piece);
  const lags = plan.size - 2 * width + 1;
  const peaks: { at: number; value: number }[] = [];
  let square = 0;
  let count = 0;
  // half a piece may stick out on either side
  for (let from = -(width >> 1); from < long.length - (width >> 1); from += lags) {
    const block = cut(long, from, lags + width - 1);
    if (!block.some((v) => v !== 0)) continue;
    const { values } = correlationOf(whiten(crossSpectrum(block, faded, plan)), 0, lags - 1, plan);
    for (const value of values) square += value ** 2;
    count += lags;
    peaks.push(...peaksOf(values, from));
  }
  const spread = Math.sqrt(square / Math.max(1, count));
  if (spread === 0) return [];
  return apart(peaks)
    .slice(0, most)
    .map(({ at, value }) => ({ at, significance: value / spread }));
}

/** The largest value of each stretch of CLEAR_LAGS lags, the best few of a block. */
function peaksOf(values: Float64Array, from: number): { at: number; value: number }[] {
  const peaks: { at: number; value: number }[] = [];
  for (let start = 0; start < values.length; start += CLEAR_LAGS) {
    let at = start;
    for (let n = start; n < Math.min(values.length, start + CLEAR_LAGS); n++) {
      if (Math.abs(values[n]) > Math.abs(values[at])) at = n;
    }
    peaks.push({ at: from + at, value: Math.abs(values[at]) });
  }
  return apart(peaks).slice(0, PER_BLOCK);
}

function apart(peaks: readonly { at: number; value: number }[]): { at: number; value: number }[] {
  const kept: { at: number; value: number }[] = [];
  const best = [...peaks].sort((a, b) => b.value - a.value).slice(0, 8 * PER_BLOCK);
  for (const peak of best) {
    if (kept.every((k) => Math.abs(k.at - peak.at) > CLEAR_LAGS)) kept.push(peak);
  }
  return kept;
}

/** Raised cosine over the whole piece: hard edges would splatter over the spectrum and find other edges. */
export function fade(piece: Float64Array): Float64Array {
  return piece.map((v, n) => v * (0.5 - 0.5 * Math.cos((2 * Math.PI * (n + 0.5)) / piece.length)));
}

/** Values [from, from + length), zero outside. */
function cut(values: Float64Array, from: number, length: number): Float64Array {
  const out = new Float64Array(length);
  const start = Math.max(0, from);
  const end = Math.min(values.length, from + length);
  if (end > start) out.set(values.subarray(start, end), start - from);
  return out;
}

// Where in a long feature does a short piece of another lie? Whitened correlation block by block, and how far the best
// place stands out from all the others.
import { correlationOf, crossSpectrum, fftPlan, fftSize, whiten } from '../signal/index.ts';

export interface Located {
  /** position of the piece's first value in the long feature; may be negative when it begins before */
  readonly at: number;
  /** peak over the standard deviation of all other places */
  readonly significance: number;
  /** second best place (not touching the best) over the best; near 1 = ambiguous */
  readonly rival: number;
}

const CLEAR_LAGS = 6;

/** Null when either side is silent. `piece` must not be longer than 2^20 values. */
export function locate(long: Float64Array, piece: Float64Array): Located | null {
  const width = piece.length;
  if (width < 32 || !piece.some((v) => v !== 0)) return null;
  const plan = fftPlan(fftSize(3 * width));
  const lags = plan.size - 2 * width + 1;
  const best = { at: 0, value: 0 };
  const seconds: { at: number; value: number }[] = [];
  let square = 0;
  let count = 0;
  // half a piece may stick out on either side
  for (let from = -(width >> 1); from < long.length - (width >> 1); from += lags) {
    const block = cut(long, from, lags + width - 1);
    if (!block.some((v) => v !== 0)) continue;
    const { values } = correlationOf(whiten(crossSpectrum(block, piece, plan)), 0, lags - 1, plan);
    for (let n = 0; n < lags; n++) {
      square += values[n] ** 2;
      count++;
      const value = Math.abs(values[n]);
      if (value > best.value) Object.assign(best, { at: from + n, value });
    }
    seconds.push(...peaksOf(values, from));
  }
  if (count === 0 || best.value === 0) return null;
  const spread = Math.sqrt((square - best.value ** 2) / count);
  const second = Math.max(0, ...seconds.filter((p) => Math.abs(p.at - best.at) > CLEAR_LAGS).map((p) => p.value));
  return { at: best.at, significance: spread > 0 ? best.value / spread : 0, rival: second / best.value };
}

/** The largest value of each stretch of CLEAR_LAGS lags. */
function peaksOf(values: Float64Array, from: number): { at: number; value: number }[] {
  const peaks: { at: number; value: number }[] = [];
  for (let start = 0; start < values.length; start += CLEAR_LAGS) {
    let at = start;
    for (let n = start; n < Math.min(values.length, start + CLEAR_LAGS); n++) {
      if (Math.abs(values[n]) > Math.abs(values[at])) at = n;
    }
    peaks.push({ at: from + at, value: Math.abs(values[at]) });
  }
  return peaks.sort((a, b) => b.value - a.value).slice(0, 3);
}

/** Values [from, from + length), zero outside. */
export function cut(values: Float64Array, from: number, length: number): Float64Array {
  const out = new Float64Array(length);
  const start = Math.max(0, from);
  const end = Math.min(values.length, from + length);
  if (end > start) out.set(values.subarray(start, end), start - from);
  return out;
}

// Where the marks of both sent channels stand in a window of a capture, by correlation, whatever the level, polarity and (within a thousandth of
// the assumed ratio) the rate. Not for saying which cell it is (read-cell.ts).
import { type Fft, fftPlan, fftSize, type RealResampler, realResampler } from '../../../signal/index.ts';
import { chipsOf } from '../chips.ts';
import { CELL_FRAMES, MARK_FRAMES, SIGNAL_CHANNELS, WORD_FRAMES } from '../layout.ts';
import { withoutPeaks } from './lag.ts';

export interface Mark {
  /** sent channel whose mark it is, 0-based */
  readonly source: number;
  /** frame of the window */
  readonly frame: number;
  /** -1 to 1: share of the stretch that is the mark; negative where the polarity is turned */
  readonly likeness: number;
}

export interface MarkScanner {
  /** a window of this many frames holds a whole mark with its words wherever it lies in the cells */
  readonly windowFrames: number;
  /** The best place of each sent channel's mark in the window. */
  scan(plane: Int32Array): Mark[];
}

/** A mark, its words, and room to look for them. */
const NAMED_FRAMES = MARK_FRAMES + WORD_FRAMES + 100;
/** Taps of the search's resampling on either side: enough for a likeness. */
const SEARCH_TAPS = 12;

/** Resampling for searches: any step up to `largestStep`. */
export function searchResampler(largestStep: number): RealResampler {
  return realResampler(Math.max(1, largestStep), { halfTaps: SEARCH_TAPS, attenuationDb: 50 });
}

/** `ratio`: frames captured for each frame sent. */
export function markScanner(ratio: number): MarkScanner {
  const marks = Array.from({ length: SIGNAL_CHANNELS }, (_, source) => stretched(chipsOf(source).mark, ratio));
  const length = marks[0].length;
  const windowFrames = fftSize(Math.ceil((CELL_FRAMES + NAMED_FRAMES) * ratio));
  // a mark whose words lie outside would hide one whose words can be read
  const places = windowFrames - Math.ceil(NAMED_FRAMES * ratio);
  const plan = fftPlan(windowFrames);
  const matcher = newMatcher(marks, plan);
  const own = marks.map((mark) => Math.sqrt(mark.reduce((sum, x) => sum + x * x, 0)));
  return {
    windowFrames,
    scan(plane) {
      const window = withoutPeaks(centred(plane, windowFrames));
      const energy = runningEnergy(window, length);
      return matcher(window).map((values, source) => best(values, energy, own[source], source, places));
    },
  };
}

function stretched(chips: Int8Array, ratio: number): Float64Array {
  const plain = Float64Array.from(chips);
  if (ratio === 1) return plain;
  return searchResampler(1 / ratio)(plain, 0, 1 / ratio, Math.floor(MARK_FRAMES * ratio));
}

/** Both correlations from one transform there and one back: the second mark rides as the imaginary part. */
function newMatcher(marks: readonly Float64Array[], plan: Fft): (window: Float64Array) => Float64Array[] {
  const re = new Float64Array(plan.size);
  const im = new Float64Array(plan.size);
  re.set(marks[0]);
  im.set(marks[1]);
  // conj(A) + i conj(B) of real a and b is the transform of a - the reversed places - and b likewise
  reverse(re);
  reverse(im);
  plan.forward(re, im);
  return (window) => {
    const outRe = window.slice();
    const outIm = new Float64Array(plan.size);
    plan.forward(outRe, outIm);
    for (let k = 0; k < plan.size; k++) {
      const x = outRe[k];
      outRe[k] = x * re[k] - outIm[k] * im[k];
      outIm[k] = x * im[k] + outIm[k] * re[k];
    }
    plan.inverse(outRe, outIm);
    return [outRe, outIm];
  };
}

/** x[n] becomes x[-n], counted around. */
function reverse(values: Float64Array): void {
  values.subarray(1).reverse();
}

function centred(plane: Int32Array, frames: number): Float64Array {
  const out = new Float64Array(frames);
  let sum = 0;
  for (let n = 0; n < plane.length; n++) sum += plane[n];
  const mean = plane.length > 0 ? sum / plane.length : 0;
  for (let n = 0; n < Math.min(frames, plane.length); n++) out[n] = plane[n] - mean;
  return out;
}

function runningEnergy(window: Float64Array, length: number): Float64Array {
  const sums = new Float64Array(window.length + 1);
  for (let n = 0; n < window.length; n++) sums[n + 1] = sums[n] + window[n] ** 2;
  return Float64Array.from({ length: window.length - length + 1 }, (_, n) => sums[n + length] - sums[n]);
}

function best(values: Float64Array, energy: Float64Array, own: number, source: number, places: number): Mark {
  let found: Mark = { source, frame: 0, likeness: 0 };
  for (let n = 0; n < places; n++) {
    const value = values[n];
    if (energy[n] < 0.5 || value * value <= found.likeness ** 2 * energy[n] * own * own) continue;
    found = { source, frame: n, likeness: value / (own * Math.sqrt(energy[n])) };
  }
  return found;
}

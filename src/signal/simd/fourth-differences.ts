// Fourth differences, to which smooth sound is nearly nothing: the largest of every 32 frames, and how large they are around it.
import { AT, copyIn, machine } from './machine.ts';

/** One peak in so many frames. */
export const PEAK_PART = 32;
/** What belongs to the peak itself reaches so far … */
export const PEAK_OWN = 6;
/** … and its surroundings from there to here, to both sides. */
export const PEAK_AROUND = 24;
/** Samples the caller has before `from` and after `from + count`. */
export const PEAK_CONTEXT = PEAK_AROUND + 4;
/** Values of one peak in `out`: index after `from`, magnitude, largest magnitude around. */
export const PEAK_VALUES = 3;
/** Magnitudes below 2^27 give fourth differences of 31 bits. */
const MOST_MAGNITUDE = 2 ** 27;
const MOST_FRAMES = 65_536 - 2 * PEAK_CONTEXT;

/** Magnitude of the fourth difference at i. */
export function fourthDifference(x: Int32Array, i: number): number {
  return Math.abs(x[i - 2] + x[i + 2] - 4 * (x[i - 1] + x[i + 1]) + 6 * x[i]);
}

/** Peaks of the parts of [from, from + count), the last one maybe shorter; returns the OR of the samples that stand for them. */
export function fourthDifferencePeaks(x: Int32Array, from: number, count: number, out: Float64Array): number {
  if (count % PEAK_PART !== 0 || count > MOST_FRAMES) return plainFourthDifferencePeaks(x, from, count, out);
  const it = machine();
  const input = AT.plane + 4 * PEAK_CONTEXT;
  copyIn(it, x.subarray(from - PEAK_CONTEXT, from + count + PEAK_CONTEXT), AT.plane);
  const ors = it.kernels.fourthDifferencePeaks(input, count, AT.second, AT.list);
  if (Number(ors >> 32n) >= MOST_MAGNITUDE) return plainFourthDifferencePeaks(x, from, count, out);
  out.set(it.reals.subarray(AT.list / 8, AT.list / 8 + (PEAK_VALUES * count) / PEAK_PART));
  return Number(ors & 0xffff_ffffn) | 0;
}

/** The plain twin. */
export function plainFourthDifferencePeaks(x: Int32Array, from: number, count: number, out: Float64Array): number {
  let or = 0;
  for (let i = from - PEAK_AROUND; i < from + count + PEAK_AROUND; i++) or |= x[i];
  for (let part = 0, to = 0; part < count; part += PEAK_PART, to += PEAK_VALUES) {
    let at = from + part;
    const end = Math.min(from + count, at + PEAK_PART);
    for (let i = at + 1; i < end; i++) if (fourthDifference(x, i) > fourthDifference(x, at)) at = i;
    let rest = 0;
    for (let k = PEAK_OWN + 1; k <= PEAK_AROUND; k++) {
      rest = Math.max(rest, fourthDifference(x, at - k), fourthDifference(x, at + k));
    }
    out[to] = at - from;
    out[to + 1] = fourthDifference(x, at);
    out[to + 2] = rest;
  }
  return or;
}

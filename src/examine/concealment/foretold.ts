// How far the sound itself foretells the hits of a lattice. Oversampled sound, narrow bands and made waveforms swing in step with a
// lattice: their second differences go through zero at every sixth sample, and the samples beside say so. Such hits are no separate
// throws. Not for unbroken rows (judge-line.ts).
import { solveSymmetric } from '../../signal/index.ts';
import type { HitRule } from './hits.ts';

/** Nearest places off the lattice that foretell a place on it, on either side. */
const BESIDE = 2;
const TERMS = 2 * BESIDE;
/** Samples before and after the lattice that tell how its places go together. */
const AROUND = 256;
/** Fewer places around tell no relation. */
const FEWEST_PLACES = 64;
/** Errors are counted in bins, so many to their median size. A made waveform may slip now and then: few errors are then large, and say
 * nothing of the others. */
const BINS_PER_MEDIAN = 3;
const BINS_EACH_WAY = 256;
/** The median is taken from every so many errors. */
const STRIDE = 4;

interface Lattice {
  readonly samples: Int32Array;
  /** indices of the first place and behind the last */
  readonly from: number;
  readonly to: number;
  /** per phase from `from` on */
  readonly isOn: readonly boolean[];
}

/** Chance, 0..1, that a hit is made at a place on the lattice, from the places off it beside, as they go together in the sound around.
 * A hit takes `width` values of `step`. */
export function foretoldChance(
  { samples, from, to, isOn }: Lattice,
  rule: HitRule,
  { width, step }: { readonly width: number; readonly step: number },
): (i: number) => number {
  const values = new Float64Array(samples.length);
  for (let i = 1; i < values.length - 1; i++) values[i] = rule.deviation(samples, i) / step;
  const known = new Map<string, Relation | undefined>();
  const byPhase = isOn.map((on, phase) => {
    if (!on) return undefined;
    const offsets = offsetsOf(isOn, phase);
    const key = offsets.join();
    if (!known.has(key))
      known.set(
        key,
        relationOf(
          values,
          [
            [Math.max(0, from - AROUND), from],
            [to, Math.min(values.length, to + AROUND)],
          ],
          offsets,
        ),
      );
    return known.get(key);
  });
  return (i) => {
    const relation = byPhase[(i - from) % isOn.length];
    return relation ? Math.min(1, width * relation.density(errorAt(values, i, relation))) : 0;
  };
}

/** From a phase to the nearest ones off the lattice, before and after. */
function offsetsOf(isOn: readonly boolean[], phase: number): number[] {
  const period = isOn.length;
  return [-1, 1].flatMap((direction) => {
    const offsets: number[] = [];
    for (let offset = direction; offsets.length < BESIDE; offset += direction) {
      if (!isOn[(((phase + offset) % period) + period) % period]) offsets.push(offset);
    }
    return offsets;
  });
}

interface Taps {
  readonly offsets: readonly number[];
  readonly taps: Float64Array;
}

interface Relation extends Taps {
  /** of errors, per value */
  readonly density: (error: number) => number;
}

type Part = readonly [from: number, to: number];

function relationOf(values: Float64Array, parts: readonly Part[], offsets: readonly number[]): Relation | undefined {
  const reach = Math.max(...offsets.map(Math.abs)) + 1;
  const inner = parts.map(([from, to]): Part => [from + reach, Math.max(from + reach, to - reach)]);
  const places = inner.reduce((sum, [from, to]) => sum + to - from, 0);
  if (places < FEWEST_PLACES) return undefined;
  const taps = tapsOf(values, inner, offsets);
  if (!taps) return undefined;
  const errors = new Float64Array(places);
  let n = 0;
  for (const [from, to] of inner) for (let i = from; i < to; i++) errors[n++] = errorAt(values, i, { offsets, taps });
  return { offsets, taps, density: densityOf(errors) };
}

function errorAt(values: Float64Array, i: number, { offsets, taps }: Taps): number {
  let error = values[i];
  for (let k = 0; k < TERMS; k++) error -= taps[k] * (values[i + offsets[k]] ?? 0);
  return error;
}

/** By least squares. */
function tapsOf(values: Float64Array, parts: readonly Part[], offsets: readonly number[]): Float64Array | undefined {
  const matrix = new Float64Array(TERMS * TERMS);
  const right = new Float64Array(TERMS);
  let places = 0;
  for (const [from, to] of parts) {
    places += to - from;
    for (let a = 0; a < TERMS; a++) {
      right[a] += product(values, from, to, offsets[a], 0);
      for (let b = 0; b <= a; b++) matrix[b * TERMS + a] += product(values, from, to, offsets[a], offsets[b]);
    }
  }
  // Rounding alone has a power of 1/12: it keeps the matrix regular.
  for (let a = 0; a < TERMS; a++) matrix[a * TERMS + a] += places / 12;
  return solveSymmetric(matrix, right, TERMS);
}

function product(values: Float64Array, from: number, to: number, a: number, b: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i + a] * values[i + b];
  return sum;
}

/** How often errors of about that size are made, per value; half a one more than were counted. */
function densityOf(errors: Float64Array): (error: number) => number {
  const sizes = errors
    .filter((_, i) => i % STRIDE === 0)
    .map(Math.abs)
    .sort();
  const bin = Math.max(1, sizes[sizes.length >> 1] / BINS_PER_MEDIAN);
  const bins = new Float64Array(2 * BINS_EACH_WAY + 1);
  const binOf = (error: number) =>
    BINS_EACH_WAY + Math.max(-BINS_EACH_WAY, Math.min(BINS_EACH_WAY, Math.round(error / bin)));
  for (const error of errors) bins[binOf(error)]++;
  return (error) => {
    const at = binOf(error);
    const count = at === 0 || at === 2 * BINS_EACH_WAY ? 0 : bins[at - 1] + bins[at] + bins[at + 1];
    return (count + 0.5) / ((errors.length + 1) * 3 * bin);
  };
}

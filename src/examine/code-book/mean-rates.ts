// How often a code is a mean by chance, counted around a row, between its places and where it would go on. Not for finding rows
// (lattice-rows.ts) nor for what follows from the rates (code-lattice.ts).
import type { LatticeRow } from './lattice-rows.ts';
import type { BitSet, MeanBits } from './mean-bits.ts';

export const CONTEXT = 1024;

export interface Count {
  readonly hits: number;
  readonly places: number;
}

/** The logarithm of the chance of a row, by the rates that it will be held against at least, whatever its rounding. */
export function leastLogChance({ one }: MeanBits, { period, first, last }: LatticeRow): number {
  const means = (last - first) / period + 1;
  let [around, between] = [1, 0];
  for (let k = 0; k < one.length; k++) {
    around = Math.min(around, aroundRate(one[k], first, last));
    // As if all means of the row were in this rounding.
    const others = one[k].count(first, last + 1) - means;
    between = Math.max(between, others / (last + 2 - first - means));
  }
  return means * Math.log(Math.max(around, between));
}

export function placesAround({ length }: BitSet, first: number, last: number): number {
  return Math.min(first, CONTEXT) + Math.min(length - 1 - last, CONTEXT);
}

/** No part of the row has a lower rate around it. */
export function leastRate(means: BitSet, first: number, last: number): number {
  const begin = Math.max(0, first - CONTEXT);
  const end = Math.min(means.length, last + 1 + CONTEXT);
  return (means.count(begin, end) - means.count(first, last + 1) + 0.5) / (end - begin);
}

export function aroundRate(means: BitSet, first: number, last: number): number {
  const begin = Math.max(0, first - CONTEXT);
  const end = Math.min(means.length, last + 1 + CONTEXT);
  const hits = means.count(begin, end) - means.count(first, last + 1);
  return (hits + 0.5) / (end - begin - (last - first));
}

/** A rate counted in few places may be higher by its own spread. */
export function betweenRate({ hits, places }: Count): number {
  return (hits + 0.5 + Math.sqrt(hits)) / (places + 1);
}

/** On the replaced phases where the row would go on, on both sides: a sound whose period the lattice shares has its means there too. */
export function beyondRate(means: BitSet, { period, first, last }: LatticeRow, isOn: readonly boolean[]): number {
  const [begin, end] = [Math.max(0, first - CONTEXT), Math.min(means.length, last + 1 + CONTEXT)];
  let [hits, places] = [0, 0];
  for (const [phase, on] of isOn.entries()) {
    if (!on) continue;
    for (let i = first + phase - period; i >= begin; i -= period, places++) hits += means.at(i);
    for (let i = last + phase + period; i < end; i += period, places++) hits += means.at(i);
  }
  return (hits + 0.5) / (places + 1);
}

/** The logarithm of the chance that the means of a row follow each other as they do, by how often the sound around has a mean one period after
 * a mean: means are no independent tries where the sound has a tone whose period is nearly the lattice's, and none between them, or is
 * slow, and has one right before them as well. The two are counted apart. */
export function logChanceAgain(means: BitSet, row: LatticeRow, isOn: readonly boolean[]): number {
  const { period, first, last } = row;
  const [begin, end] = [Math.max(0, first - CONTEXT), Math.min(means.length, last + 1 + CONTEXT)];
  const count = (...distances: number[]) =>
    means.together(begin, first - period, ...distances) + means.together(last + 1, end - period, ...distances);
  const [slow, slowAgain] = [count(period - 1), count(period - 1, period)];
  const around = aroundRate(means, first, last);
  const logRate = (again: number, tries: number) => Math.log((again + around) / (tries + 1));
  const inSlow = logRate(slowAgain, slow);
  const inOther = logRate(count(period) - slowAgain, count() - slow);
  let logChance = Math.log(around);
  for (let i = first + period, phase = 0; i <= last; i++) {
    if (isOn[phase] && means.at(i) === 1) logChance += means.at(i - 1) === 1 ? inSlow : inOther;
    phase = phase + 1 === period ? 0 : phase + 1;
  }
  return logChance;
}

/** The logarithm of the chance of an unbroken row, by how often an exact mean follows an exact mean around it: slow sound draws lines itself. */
export function logChanceOfLine(exact: BitSet, first: number, last: number): number {
  const [begin, end] = [Math.max(0, first - CONTEXT), Math.min(exact.length, last + 1 + CONTEXT)];
  const count = (...distances: number[]) =>
    exact.together(begin, first - 1, ...distances) + exact.together(last + 1, end - 1, ...distances);
  const around = aroundRate(exact, first, last);
  return Math.log(around) + (last - first) * Math.log((count(1) + around) / (count() + 1));
}

/** In the row: of the phases that are replaced, or of the others. */
export function countOn(
  means: BitSet,
  { period, first, last }: LatticeRow,
  isOn: readonly boolean[],
  which: boolean,
): Count {
  let [hits, places] = [0, 0];
  for (let i = first, phase = 0; i <= last; i++) {
    if (isOn[phase] === which) {
      hits += means.at(i);
      places++;
    }
    phase = phase + 1 === period ? 0 : phase + 1;
  }
  return { hits, places };
}

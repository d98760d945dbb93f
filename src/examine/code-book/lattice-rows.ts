// Unbroken rows of means on every lattice, in one window of codes; only those that may be rarer than needed. Quick, as coarse codes
// have means everywhere. Not for judging them (code-lattice.ts).
import type { BitSet, MeanBits } from './mean-bits.ts';
import { CONTEXT, leastLogChance } from './mean-rates.ts';

/** Every `period`-th place from `first` to `last`. */
export interface LatticeRow {
  readonly period: number;
  readonly first: number;
  readonly last: number;
}

/** Fewer means on a lattice are chance everywhere. A power of two, as they are looked for by doubling. */
const FEWEST_MEANS = 8;
/** Where means are common rows must be longer: so many lengths are looked for, each twice the one before. */
const LENGTHS = 4;
/** Words that make a cell. */
const CELL = 8;

export function lengthOf({ period, first, last }: LatticeRow): number {
  return (last - first) / period + 1;
}

/** `enough`: the logarithm of the chance that still counts. */
export function latticeRows(means: MeanBits, periods: readonly number[], enough: number): LatticeRow[] {
  const rows: LatticeRow[] = [];
  const fewest = fewestMeans(means, enough);
  const runs = Array.from({ length: LENGTHS }, () => new Int32Array(means.any.words.length));
  for (const period of periods) {
    if (period === 1) continue;
    markRuns(means.any, runs, period);
    eachStart(means.any, runs, fewest, period, (first, least) => {
      let last = first;
      while (last + period < means.any.length && means.any.at(last + period) === 1) last += period;
      const row = { period, first, last };
      if (lengthOf(row) >= least && leastLogChance(means, row) <= enough) rows.push(row);
    });
  }
  return rows;
}

/** In `runs`, where FEWEST_MEANS means or more follow each other on the lattice, twice as many, four times as many ... */
function markRuns(means: BitSet, runs: readonly Int32Array[], period: number): void {
  let have = 1;
  for (const [k, words] of runs.entries()) {
    words.set(k === 0 ? means.words : runs[k - 1]);
    for (const need = FEWEST_MEANS << k; have < need; have *= 2) andShifted(words, have * period);
  }
}

/** Of each bit that is set, keeps it where the bit so much further is set as well. */
function andShifted(words: Int32Array, shift: number): void {
  const [whole, part] = [shift >> 5, shift & 31];
  const end = words.length - whole - 1;
  if (part === 0) for (let w = 0; w < end; w++) words[w] &= words[w + whole];
  else for (let w = 0; w < end; w++) words[w] &= (words[w + whole] >>> part) | (words[w + whole + 1] << (32 - part));
  words.fill(0, Math.max(0, end));
}

/** Starts of rows that may be long enough, with the least length; it is looked for by the longest of the runs that is no longer. */
function eachStart(
  means: BitSet,
  runs: readonly Int32Array[],
  fewest: Uint16Array,
  period: number,
  take: (first: number, least: number) => void,
): void {
  for (let w = 0; w < means.words.length; w++) {
    const least = fewest[Math.floor(w / CELL)];
    let k = 0;
    while (k + 1 < LENGTHS && FEWEST_MEANS << (k + 1) <= least) k++;
    for (let left = runs[k][w]; left !== 0; left &= left - 1) {
      const first = (w << 5) + 31 - Math.clz32(left & -left);
      if (first < period || means.at(first - period) === 0) take(first, least);
    }
  }
}

/** For each cell, how many means in a row that begins there can be rare enough: most rows of common means are shorter. */
function fewestMeans({ one }: MeanBits, enough: number): Uint16Array {
  const [{ length: frames, words }] = one;
  return Uint16Array.from({ length: Math.ceil(words.length / CELL) }, (_, cell) => {
    const begin = Math.max(0, cell * CELL * 32 - CONTEXT);
    const end = Math.min(frames, (cell + 1) * CELL * 32 + CONTEXT);
    const hits = Math.min(...one.map((set) => set.count(begin, end)));
    // The surroundings of a row may lie elsewhere in part, and do not hold the row itself.
    const rate = (means: number) => (hits / 2 - means + 0.5) / (end - begin + 1);
    let means = FEWEST_MEANS;
    while (rate(means) > 0 && means * Math.log(rate(means)) > enough) means++;
    return means;
  });
}

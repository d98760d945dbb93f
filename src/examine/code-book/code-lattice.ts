// Rows of means on a lattice in codes: every so-manieth code is the mean of its neighbours, and a deck rounds one way. Codes have few
// values, so how often that happens by chance is counted and not reckoned: between the places of the row, around it, and on the places
// where the row would go on. Not for unbroken rows (concealment/judge-line.ts).
import { LATTICE_PERIODS } from '../concealment/lattice-scan.ts';
import { type LatticeRow, latticeRows, lengthOf } from './lattice-rows.ts';
import { type BitSet, type MeanBits, ROUNDINGS } from './mean-bits.ts';
import {
  aroundRate,
  betweenRate,
  beyondRate,
  countOn,
  leastLogChance,
  leastRate,
  logChanceAgain,
  placesAround,
} from './mean-rates.ts';
import type { JudgedRow } from './placed-rows.ts';

/** Share of the means of a further phase that must be there for it to be replaced as well. */
const PHASE_SHARE = 0.9;

/** Where a row fills all that is heard at once, a tone may as well have made it: nobody can tell without sound beside it. */
const FEWEST_AROUND = 256;

/** The lattices whose chance is at most `enough` (its logarithm); several may explain the same samples. `meant` gives the first place
 * from which a row is looked at, if it is at all. */
export function judgeCodeLattices(
  means: MeanBits,
  enough: number,
  meant: (row: LatticeRow) => number | undefined,
): JudgedRow[] {
  const found: JudgedRow[] = [];
  for (const whole of latticeRows(means, LATTICE_PERIODS, enough)) {
    const first = meant(whole);
    if (first === undefined) continue;
    const row = { ...whole, first };
    found.push(...judgeRow(means, row, phasesOf(means.any, row), enough));
  }
  return found;
}

/** Counted from the row's first place, which phases of the lattice are replaced. */
function phasesOf(means: BitSet, { period, first, last }: LatticeRow): boolean[] {
  const isOn: boolean[] = [];
  for (let phase = 0; phase < period; phase++) {
    const places = Math.floor((last - first - phase) / period) + 1;
    let left = places >= 3 ? (1 - PHASE_SHARE) * places : -1;
    for (let i = first + phase; i <= last && left >= 0; i += period) left -= 1 - means.at(i);
    isOn.push(left >= 0);
  }
  return isOn;
}

/** Of one phase, in each rounding: in slow sound the other phases have means as well, of the sound's own. Of more phases, in any rounding,
 * where some of them are neighbours: samples that were lost together lie on a line. */
function judgeRow(means: MeanBits, row: LatticeRow, isOn: readonly boolean[], enough: number): JudgedRow[] {
  const onePhase = isOn.map((_, phase) => phase === 0);
  const found = ROUNDINGS.map((name, k) => {
    if (lengthOf(row) * Math.log(leastRate(means.one[k], row.first, row.last)) > enough) return undefined;
    const own = longestIn(means.one[k], row);
    const isHopeless = leastLogChance(means, own) > enough;
    return isHopeless ? undefined : judgementOf(means.one[k], name, own, onePhase, means.one, enough);
  });
  const hasNeighbours = isOn.some((on, phase) => on && isOn[(phase + 1) % isOn.length]);
  if (hasNeighbours && !isOn.every(Boolean))
    found.push(judgementOf(means.any, 'mixed', row, isOn, [means.any], enough));
  return found.filter((judgement) => judgement !== undefined);
}

/** The longest stretch of the row that keeps the rounding. */
function longestIn(means: BitSet, { period, first, last }: LatticeRow): LatticeRow {
  let [best, bestStart, start] = [0, first, first];
  for (let i = first; i <= last; i += period) {
    if (means.at(i) === 0) start = i + period;
    else if (i - start > best) [best, bestStart] = [i - start, start];
  }
  return { period, first: bestStart, last: bestStart + best };
}

/** Against the rate of the means around, and between the places against that of any of `all`: the steps of a slope round one way on
 * one phase and the other way on the next. Undefined where the chance is not small enough. */
function judgementOf(
  means: BitSet,
  rounding: string,
  row: LatticeRow,
  isOn: readonly boolean[],
  all: readonly BitSet[],
  enough: number,
): JudgedRow | undefined {
  const { period, first, last } = row;
  const phases = isOn.filter(Boolean).length;
  const { hits: replaced, places } =
    phases === 1 ? { hits: lengthOf(row), places: lengthOf(row) } : countOn(means, row, isOn, true);
  const misses = places - replaced;
  const choices = phases * Math.log(period) + misses * Math.log(replaced + 1) + Math.log(1 + ROUNDINGS.length);
  const logChanceAt = (rate: number) => replaced * Math.log(Math.min(0.999, rate)) + choices;
  if (placesAround(means, first, last) < FEWEST_AROUND) return undefined;
  const around = aroundRate(means, first, last);
  if (logChanceAt(around) > enough) return undefined;
  const between = Math.max(...all.map((one) => betweenRate(countOn(one, row, isOn, false))));
  if (logChanceAt(between) > enough) return undefined;
  const alone = logChanceAt(Math.max(around, between, beyondRate(means, row, isOn)));
  if (alone > enough) return undefined;
  const logChance = Math.max(alone, logChanceAgain(means, row, isOn) + choices);
  if (logChance > enough) return undefined;
  const pattern = isOn.map((is) => (is ? 'x' : '.')).join('');
  return { from: first, to: last + 1, period, pattern, replaced, misses, logChance, rounding };
}

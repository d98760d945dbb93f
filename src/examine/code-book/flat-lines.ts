// Lines between equal codes: the same samples as those of a hold. Where a deck draws lines elsewhere in the channel, it drew these as
// well; where it does not, nobody can tell, and they stay holds. Not for judging rows (concealment/judge-line.ts).
import type { PlacedRow } from './placed-rows.ts';

/** Lines with a slope that show what the deck does. */
const FEWEST_SLOPES = 2;

/** Its ends differ by no more than one code. */
export function isFlat(codes: Int32Array, from: number, to: number): boolean {
  return Math.abs(codes[to] - codes[from - 1]) <= 1;
}

/** Zeros are silence, or a mute. */
export function isZero(codes: Int32Array, from: number, to: number): boolean {
  return codes.subarray(from, to).every((code) => code === 0);
}

/** Of rows of all kinds, those that are no flat lines, and flat lines of the deck's habit. */
export function withoutDoubtful(rows: readonly PlacedRow[]): PlacedRow[] {
  const slopes = rows.filter(({ period, isFlat }) => period === 1 && !isFlat);
  const longest = Math.max(0, ...slopes.map(({ length }) => length));
  const flat = rows.filter((row) => row.isFlat);
  const isHabit = slopes.length >= Math.max(FEWEST_SLOPES, flat.length / 2);
  return rows.filter((row) => !row.isFlat || (isHabit && row.length <= longest));
}

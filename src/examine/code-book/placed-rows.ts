// Judged rows where they lie in the recording; parts of a row that windows cut become one again. Not for judging.
import { type Span, spanEnd } from '../../base/index.ts';
import type { Judgement } from '../concealment/judged-stretch.ts';

/** Where every place of a lattice is a mean, none lies beside it. */
export type JudgedRow = Omit<Judgement, 'besideShare'>;

export interface PlacedRow extends Span, Omit<JudgedRow, 'from' | 'to'> {
  /** a line between equal codes, which may as well be a hold */
  readonly isFlat: boolean;
}

/** Of rows in the order of their places. */
export function joinedRows(rows: readonly PlacedRow[]): PlacedRow[] {
  const joined: PlacedRow[] = [];
  for (const next of rows) {
    const last = joined.at(-1);
    const goesOn =
      last !== undefined &&
      next.period > 1 &&
      last.period === next.period &&
      last.rounding === next.rounding &&
      next.start - spanEnd(last) <= 2 * next.period;
    if (!goesOn) joined.push(next);
    else {
      joined[joined.length - 1] = {
        ...last,
        length: spanEnd(next) - last.start,
        replaced: last.replaced + next.replaced,
        misses: last.misses + next.misses,
        logChance: last.logChance + next.logChance,
      };
    }
  }
  return joined;
}

// Rows that were handed over in parts become one again. Judges nothing.
import type { Span } from '../../base/index.ts';
import type { Judgement } from './judged-stretch.ts';

/** A judgement in frames of the recording. */
export interface Placed extends Span {
  readonly judgement: Judgement;
}

/** Parts of one lattice that abut. `placed`: in order; `longest`: samples of the longest part that is handed over. */
export function joinParts(placed: readonly Placed[], longest: number): Placed[] {
  const joined: Placed[] = [];
  for (const next of placed) {
    const last = joined.at(-1);
    if (last && continues(last, next) && last.length >= longest / 2) joined[joined.length - 1] = joinOf(last, next);
    else joined.push(next);
  }
  return joined;
}

function continues(last: Placed, next: Placed): boolean {
  const { period, pattern } = next.judgement;
  return (
    last.judgement.period === period &&
    last.judgement.pattern.length === pattern.length &&
    next.start - (last.start + last.length) <= 2 * period
  );
}

function joinOf(last: Placed, next: Placed): Placed {
  const [a, b] = [last.judgement, next.judgement];
  return {
    start: last.start,
    length: next.start + next.length - last.start,
    judgement: {
      ...a,
      replaced: a.replaced + b.replaced,
      misses: a.misses + b.misses,
      besideShare: (a.besideShare * a.replaced + b.besideShare * b.replaced) / (a.replaced + b.replaced),
      logChance: a.logChance + b.logChance,
    },
  };
}

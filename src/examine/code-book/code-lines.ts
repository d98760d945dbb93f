// Unbroken rows of means in codes that are worth judging, each with its surroundings. Not for judging them (concealment/judge.ts).
import type { Place } from '../concealment/judged-stretch.ts';
import type { BitSet, MeanBits } from './mean-bits.ts';
import { aroundRate, betweenRate, CONTEXT } from './mean-rates.ts';

const FEWEST_MEANS = 3;
const NEAR = 128;

/** Rows that begin in own..ownEnd - 1, unless even exact means are too common around them. */
export function rowsOfMeans(means: MeanBits, enough: number, own: number, ownEnd: number): Place[] {
  const { any } = means;
  const places: Place[] = [];
  for (let w = own >> 5; w << 5 < ownEnd; w++) {
    const word = any.words[w];
    const before = w === 0 ? 0 : any.words[w - 1] >>> 31;
    for (let starts = word & ~((word << 1) | before); starts !== 0; starts &= starts - 1) {
      const from = (w << 5) + 31 - Math.clz32(starts & -starts);
      let to = from + 1;
      while (to < any.length && any.at(to) === 1) to++;
      if (to - from < FEWEST_MEANS || from < own || from >= ownEnd) continue;
      const place = { from, to, begin: Math.max(0, from - CONTEXT), end: Math.min(any.length, to + CONTEXT) };
      if (isWorthIt(means, place, enough)) places.push(place);
    }
  }
  return places;
}

/** By exact means around, and nearby, where the sound may be calmer. The jump at the end of a row may make it as rare again as one in all
 * the places around. */
function isWorthIt({ exact }: MeanBits, { from, to }: Place, enough: number): boolean {
  const chance = Math.max(aroundRate(exact, from, to - 1), nearRate(exact, from, to));
  return (to - from) * Math.log(chance) - Math.log(2 * CONTEXT) <= enough;
}

/** A rate counted in few places may be higher by its own spread. */
function nearRate(exact: BitSet, from: number, to: number): number {
  const [begin, end] = [Math.max(0, from - NEAR), Math.min(exact.length, to + NEAR)];
  const hits = exact.count(begin, end) - exact.count(from, to);
  return betweenRate({ hits, places: end - begin - (to - from) });
}

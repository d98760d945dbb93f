// Programmes are planned one by one: no pass serves two and nothing joins two. Only a limit on all passes ties them together; then each
// gets its own allowance, chosen so that the sum is cheapest, and so is the plan that shares the passes otherwise.
import type { Choice, Chosen } from './search/choose-passes.ts';
import { GROUP_COST } from './search/problem.ts';

export interface Shared {
  /** per programme */
  readonly best: readonly Chosen[];
  /** the same for the cheapest plan found that shares the passes otherwise among the decks; null: none */
  readonly other: readonly Chosen[] | null;
  /** nothing that shares the passes of a programme otherwise (decks that are alike taken as one) is cheaper than `other` */
  readonly isNext: boolean;
  readonly isExact: boolean;
  /** the best may be dearer than the optimum by this at most, thousandths of a point; null: groups may differ too */
  readonly within: number | null;
}

/** `choose(most)`: the best for one programme with `most` passes; all programmes are alike. `needed`: passes that would be enough. */
export function shareProgrammes(
  count: number,
  mostPasses: number | null,
  choose: (most: number | null) => Choice,
): Shared | { readonly needed: number | null } {
  if (count === 1) return alone(mostPasses, choose);
  const free = choose(null);
  if (!free.best) return { needed: null };
  const wanted = free.best.passes.length;
  const most = mostPasses ?? Number.POSITIVE_INFINITY;
  const withRunnerUp = (count - 1) * wanted + (free.runnerUp?.passes.length ?? wanted);
  if (count * wanted <= most && withRunnerUp <= most) return independent(count, free, free.best);
  const possible: Choice[] = [free];
  for (let allowed = Math.max(1, free.leastPasses); allowed < wanted; allowed++) possible.push(choose(allowed));
  const sums = possible.filter(({ best }) => best !== null);
  const least = Math.min(...sums.map(({ best }) => best?.passes.length ?? Number.POSITIVE_INFINITY));
  if (count * least > most) return { needed: count * least };
  return bound(count, most, sums);
}

function alone(
  mostPasses: number | null,
  choose: (most: number | null) => Choice,
): Shared | { readonly needed: number | null } {
  const choice = choose(mostPasses);
  if (choice.best) return independent(1, choice, choice.best);
  return { needed: mostPasses === null ? null : (choose(null).best?.passes.length ?? null) };
}

/** Every programme gets its best; the cheapest change is that one programme takes its second. */
function independent(count: number, { runnerUp, isExact, within }: Choice, own: Chosen): Shared {
  const best = new Array<Chosen>(count).fill(own);
  return {
    ...{ best, isExact, isNext: isExact, within: within === null ? null : count * within },
    other: runnerUp === null ? null : [runnerUp, ...best.slice(1)],
  };
}

/** `most` ties the programmes together. The best sum is exact; the other plan is the best of those that were added up, and no more is said of it. */
function bound(count: number, most: number, possible: readonly Choice[]): Shared {
  const bests = possible.map(({ best }) => best).filter((one) => one !== null);
  const seconds = possible.map(({ runnerUp }) => runnerUp).filter((one) => one !== null);
  const [best] = sums(count, most, bests, ({ passes }) => String(passes));
  const own = sharingOf(best.chosen);
  const others = sums(count, most, [...bests, ...seconds], ({ chosen }) => sharingOf(chosen));
  const gaps = possible.map(({ within }) => within ?? Number.POSITIVE_INFINITY);
  const gap = count * Math.max(...gaps);
  return {
    best: best.chosen,
    other: others.find(({ chosen }) => sharingOf(chosen) !== own)?.chosen ?? null,
    isNext: false,
    isExact: possible.every((choice) => choice.isExact),
    within: gap < Number.POSITIVE_INFINITY ? gap : null,
  };
}

interface Row {
  readonly worth: number;
  readonly passes: number;
  readonly chosen: readonly Chosen[];
}

/** Rows that are carried on; more would come only from very many decks, and never where rows are told apart by their passes. */
const MOST_ROWS = 3000;

/** Adds programme after programme, keeping the cheapest row of every key; cheapest first. */
function sums(count: number, most: number, picks: readonly Chosen[], keyOf: (row: Row) => string): Row[] {
  let rows: Row[] = [{ worth: 0, passes: 0, chosen: [] }];
  for (let programme = 0; programme < count; programme++) {
    const next = new Map<string, Row>();
    for (const before of rows) {
      for (const pick of picks) {
        const passes = before.passes + pick.passes.length;
        const row = { passes, worth: before.worth + worthOf(pick), chosen: [...before.chosen, pick] };
        const key = keyOf(row);
        if (passes <= most && row.worth < (next.get(key)?.worth ?? Number.POSITIVE_INFINITY)) next.set(key, row);
      }
    }
    rows = [...next.values()].sort((a, b) => a.worth - b.worth).slice(0, MOST_ROWS);
  }
  return rows;
}

/** Groups weigh first, as everywhere. */
function worthOf({ cost, answer }: Chosen): number {
  return cost + answer.groups * GROUP_COST;
}

/** Passes on each deck. */
function sharingOf(chosen: readonly Chosen[]): string {
  const counts = new Map<number, number>();
  for (const { passes } of chosen) for (const deck of passes) counts.set(deck, (counts.get(deck) ?? 0) + 1);
  return [...counts].sort(([a], [b]) => a - b).join(' ');
}

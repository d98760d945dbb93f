// Programmes are planned one by one: no pass serves two and nothing joins two. Only a limit on all passes ties them together; then each
// gets its own allowance, chosen so that the sum is cheapest.
import type { Choice } from './search/choose-passes.ts';

export interface Shared {
  readonly programmes: readonly Choice[];
}

/** `choose(most)`: the best for one programme with `most` passes; all programmes are alike. `needed`: passes that would be enough. */
export function shareProgrammes(
  count: number,
  mostPasses: number | null,
  choose: (most: number | null) => Choice,
): Shared | { readonly needed: number | null } {
  const free = choose(null);
  if (!free.best) return { needed: null };
  const wanted = free.best.passes.length;
  if (mostPasses === null || count * wanted <= mostPasses) return { programmes: new Array<Choice>(count).fill(free) };
  const byAllowance: Choice[] = [];
  for (let most = Math.max(1, free.leastPasses); most < wanted; most++) byAllowance.push(choose(most));
  const possible = [...byAllowance, free].filter((choice) => choice.best !== null);
  const least = Math.min(...possible.map(passesOf));
  if (count * least > mostPasses) return { needed: count * least };
  return { programmes: cheapestSum(count, mostPasses, possible) };
}

function passesOf(choice: Choice): number {
  return choice.best?.passes.length ?? Number.POSITIVE_INFINITY;
}

/** Groups weigh first, as everywhere. */
function worthOf(choice: Choice): number {
  return choice.best ? choice.best.cost + choice.best.answer.groups * 1e12 : Number.POSITIVE_INFINITY;
}

/** Dynamic programming over programmes and passes used. */
function cheapestSum(count: number, mostPasses: number, possible: readonly Choice[]): Choice[] {
  let rows: { worth: number; choices: Choice[] }[] = [{ worth: 0, choices: [] }];
  for (let programme = 0; programme < count; programme++) {
    const next: typeof rows = [];
    for (const [used, row] of rows.entries()) {
      if (!row) continue;
      for (const choice of possible) {
        const total = used + passesOf(choice);
        const worth = row.worth + worthOf(choice);
        if (total <= mostPasses && worth < (next[total]?.worth ?? Number.POSITIVE_INFINITY)) {
          next[total] = { worth, choices: [...row.choices, choice] };
        }
      }
    }
    rows = next;
  }
  return rows.filter(Boolean).reduce((best, row) => (row.worth < best.worth ? row : best)).choices;
}

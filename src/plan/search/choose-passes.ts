// How many passes on which deck: every choice in order of their number, each bounded before it is searched, until nothing untried can be
// better than the second best. Gives the best plan of one programme and the best that uses the decks otherwise.
import { type Bounds, boundsOf } from './bounds.ts';
import { type BenchProblem, GROUP_COST, type PassesAnswer } from './problem.ts';
import { leastOfPasses, searchPasses } from './search-passes.ts';
import { type RoutedDeck, type Units, unitsOf } from './units.ts';

export interface ChoiceProblem extends Omit<BenchProblem, 'units'> {
  readonly channelCount: number;
  readonly decks: readonly RoutedDeck[];
  /** thousandths of a point of one pass on each deck */
  readonly passCosts: readonly number[];
  /** decks with the same number are alike */
  readonly deckKinds: readonly number[];
  /** null: any number */
  readonly mostPasses: number | null;
}

export interface Chosen {
  readonly passes: readonly number[];
  readonly answer: PassesAnswer;
  /** passes, captures and shortfall of decks, thousandths of a point; groups are not in it */
  readonly cost: number;
}

export interface Choice {
  readonly best: Chosen | null;
  /** cheapest with other numbers of passes on the decks */
  readonly runnerUp: Chosen | null;
  /** both are proven to be what they are called */
  readonly isExact: boolean;
  /** where not: the best may be dearer than the optimum by this at most, thousandths of a point; null: groups may differ too */
  readonly within: number | null;
  /** passes that any plan needs at least, by counting alone */
  readonly leastPasses: number;
}

/** States looked into per search and in all; the usual benches need a few hundred. */
const STATES_PER_SEARCH = 15_000;
const STATES_IN_ALL = 60_000;

export function choosePasses(problem: ChoiceProblem): Choice {
  const found: Chosen[] = [];
  let isExact = true;
  let openBound = Number.POSITIVE_INFINITY;
  let statesLeft = STATES_IN_ALL;
  let leastPasses = 0;
  const knownOf = knownByDecks(problem);
  const { units, bounds: all } = knownOf(problem.decks.map((_, deck) => deck));
  const floor = all.captures(units.count * problem.reads, 0) + all.fewestGroups * (problem.joins ? GROUP_COST : 0);
  for (let count = 1; count <= mostUseful(problem); count++) {
    if (count * Math.min(...problem.passCosts) + floor >= worthOf(problem, found[1])) break;
    const candidates = compositions(problem.deckKinds, count)
      .map((passes) => passes.sort((a, b) => ways(problem, a) - ways(problem, b) || a - b))
      .map((passes) => candidateOf(problem, passes, knownOf))
      .filter(({ least }) => least < Number.POSITIVE_INFINITY)
      .sort((a, b) => a.least - b.least);
    if (candidates.length > 0 && leastPasses === 0) leastPasses = count;
    for (const { passes, base, least, known } of candidates) {
      if (least >= worthOf(problem, found[1])) break;
      const mostStates = Math.min(STATES_PER_SEARCH, statesLeft);
      const result = searchPasses({ ...problem, units: known.units, passes, mostStates }, known.bounds);
      if (!result.isExact) {
        isExact = false;
        openBound = Math.min(openBound, base + result.bound);
        statesLeft = Math.max(500, statesLeft - STATES_PER_SEARCH);
      }
      if (result.answer) insert(problem, found, { passes, answer: result.answer, cost: base + result.answer.cost });
    }
  }
  const [best = null, runnerUp = null] = found;
  return { best, runnerUp, isExact, within: withinOf(problem, best, isExact, openBound), leastPasses };
}

/** The deck with the fewest ways first: what is left open by it the freer decks can fill. */
function ways({ decks }: ChoiceProblem, deck: number): number {
  return decks[deck].options.reduce((sum, list) => sum + list.length, 0);
}

/** What orders plans: groups first where they count, then cost. */
function worthOf({ joins }: ChoiceProblem, chosen: Chosen | undefined): number {
  if (!chosen) return Number.POSITIVE_INFINITY;
  return chosen.cost + (joins ? chosen.answer.groups * GROUP_COST : 0);
}

function insert(problem: ChoiceProblem, found: Chosen[], chosen: Chosen): void {
  const at = found.findIndex((other) => worthOf(problem, chosen) < worthOf(problem, other));
  if (at < 0) found.push(chosen);
  else found.splice(at, 0, chosen);
  found.length = Math.min(2, found.length);
}

function withinOf(problem: ChoiceProblem, best: Chosen | null, isExact: boolean, openBound: number): number | null {
  if (isExact) return 0;
  if (!best) return null;
  const gap = Math.max(0, worthOf(problem, best) - openBound);
  return gap < GROUP_COST / 2 ? gap : null;
}

/** In a plan without waste every pass gives a wanted read, a join, or a deck that was missing. */
function mostUseful({ channelCount, reads, decksWanted, mostPasses }: ChoiceProblem): number {
  const useful = channelCount * (reads + 1 + decksWanted);
  return mostPasses === null ? useful : Math.min(mostPasses, useful);
}

interface Known {
  readonly units: Units;
  readonly bounds: Bounds;
}

function candidateOf(problem: ChoiceProblem, passes: readonly number[], knownOf: (decks: readonly number[]) => Known) {
  const known = knownOf([...new Set(passes)]);
  const base = passes.reduce((sum, deck) => sum + problem.passCosts[deck], 0);
  const least = base + leastOfPasses({ ...problem, units: known.units, passes, mostStates: 0 }, known.bounds);
  return { passes, base, least, known };
}

function knownByDecks(problem: ChoiceProblem): (decks: readonly number[]) => Known {
  const all = new Map<string, Known>();
  return (decks) => {
    const key = [...decks].sort().join();
    const known = all.get(key);
    if (known) return known;
    const units = unitsOf(problem.channelCount, problem.decks, decks);
    const made = { units, bounds: boundsOf({ ...problem, units }, decks) };
    all.set(key, made);
    return made;
  };
}

/** Every way to share `count` passes among the decks; of decks that are alike the earlier one gets as many or more. */
export function compositions(deckKinds: readonly number[], count: number): number[][] {
  const out: number[][] = [];
  const counts: number[] = [];
  const share = (deck: number, left: number): void => {
    if (deck === deckKinds.length) {
      if (left === 0) out.push(counts.flatMap((times, index) => new Array<number>(times).fill(index)));
      return;
    }
    const twin = deckKinds.lastIndexOf(deckKinds[deck], deck - 1);
    const most = deck > 0 && twin >= 0 ? Math.min(left, counts[twin]) : left;
    for (let times = most; times >= 0; times--) {
      counts[deck] = times;
      share(deck + 1, left - times);
    }
  };
  share(0, count);
  return out;
}

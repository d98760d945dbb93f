// How many passes on which deck: every choice in order of their number, each bounded before it is searched, until nothing untried can be
// better than the second best. Gives the best plan of one programme and the best that uses the decks otherwise.
import { type Bounds, boundsOf } from './bounds.ts';
import { type BenchProblem, GROUP_COST, type PassesAnswer } from './problem.ts';
import { leastOfPasses, searchPasses } from './search-passes.ts';
import { binomial, type RoutedDeck, type Units, unitsOf } from './units.ts';

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

/** Steps tried per search and in all before the proof is given up; the usual benches need some thousands (bench/plan.ts). */
const STEPS_PER_SEARCH = 300_000;
const STEPS_IN_ALL = 1_500_000;
/** sharings of one number of passes among the decks */
const MOST_SHARINGS = 3000;
/** searches after that, each without an allowance, for a bench that has no plan yet */
const LAST_SEARCHES = 20;

export function choosePasses(problem: ChoiceProblem): Choice {
  const hunt: Hunt = {
    found: [],
    isExact: true,
    openBound: Number.POSITIVE_INFINITY,
    stepsLeft: STEPS_IN_ALL,
    last: LAST_SEARCHES,
  };
  const knownOf = knownByDecks(problem);
  const leastOf = leastOfCounts(problem, knownOf);
  let leastPasses = 0;
  for (let count = 1; count <= mostUseful(problem); count++) {
    if (leastOf(count) >= worthOf(problem, hunt.found[1])) break;
    if (isSpent(hunt)) {
      leaveOpen(hunt, leastOf(count));
      break;
    }
    const mostDecks = mostDecksOf(problem.decks.length, count);
    if (mostDecks < Math.min(count, problem.decks.length)) leaveOpen(hunt, leastOf(count));
    const candidates = candidatesOf(problem, count, mostDecks, knownOf);
    if (candidates.length > 0 && leastPasses === 0) leastPasses = count;
    tryInOrder(problem, hunt, candidates);
  }
  const [best = null, runnerUp = null] = hunt.found;
  const within = withinOf(problem, best, hunt.isExact, hunt.openBound);
  return { best, runnerUp, isExact: hunt.isExact, within, leastPasses };
}

/** How far the choosing is; changes as it goes on. */
interface Hunt {
  /** the best two, the better first */
  readonly found: Chosen[];
  isExact: boolean;
  /** nothing that was left untried is better */
  openBound: number;
  stepsLeft: number;
  /** searches that may still be made without an allowance */
  last: number;
}

function isSpent({ stepsLeft, found, last }: Hunt): boolean {
  return stepsLeft <= 0 && (found.length > 0 || last <= 0);
}

/** Something is left untried that cannot be better than `bound`. */
function leaveOpen(hunt: Hunt, bound: number): void {
  hunt.isExact = false;
  hunt.openBound = Math.min(hunt.openBound, bound);
}

/** What any plan of so many passes costs at the least. */
function leastOfCounts(
  problem: ChoiceProblem,
  knownOf: (decks: readonly number[]) => Known,
): (count: number) => number {
  const { units, bounds } = knownOf(problem.decks.map((_, deck) => deck));
  const groups = problem.joins ? bounds.fewestGroups * GROUP_COST : 0;
  const floor = bounds.captures(units.count * problem.reads, 0) + groups;
  return (count) => count * Math.min(...problem.passCosts) + floor;
}

function candidatesOf(
  problem: ChoiceProblem,
  count: number,
  mostDecks: number,
  knownOf: (decks: readonly number[]) => Known,
): Candidate[] {
  return compositions(problem.deckKinds, count, mostDecks)
    .map((passes) => passes.sort((a, b) => ways(problem, a) - ways(problem, b) || a - b))
    .map((passes) => candidateOf(problem, passes, knownOf))
    .filter(({ least }) => least < Number.POSITIVE_INFINITY)
    .sort((a, b) => a.least - b.least);
}

function tryInOrder(problem: ChoiceProblem, hunt: Hunt, candidates: readonly Candidate[]): void {
  for (const { passes, base, least, known } of candidates) {
    if (least >= worthOf(problem, hunt.found[1])) return;
    if (isSpent(hunt)) {
      leaveOpen(hunt, least);
      return;
    }
    if (hunt.stepsLeft <= 0) hunt.last--;
    const mostSteps = Math.max(0, Math.min(STEPS_PER_SEARCH, hunt.stepsLeft));
    const { answer, isExact, bound, steps } = searchPasses(
      { ...problem, units: known.units, passes, mostSteps },
      known.bounds,
    );
    hunt.stepsLeft -= steps;
    if (!isExact) leaveOpen(hunt, base + bound);
    if (answer) insert(problem, hunt.found, { passes, answer, cost: base + answer.cost });
  }
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

/** Passes on decks, with what they cost at the least. */
interface Candidate {
  readonly passes: readonly number[];
  readonly base: number;
  readonly least: number;
  readonly known: Known;
}

function candidateOf(
  problem: ChoiceProblem,
  passes: readonly number[],
  knownOf: (decks: readonly number[]) => Known,
): Candidate {
  const known = knownOf([...new Set(passes)]);
  const base = passes.reduce((sum, deck) => sum + problem.passCosts[deck], 0);
  const least = base + leastOfPasses({ ...problem, units: known.units, passes, mostSteps: 0 }, known.bounds);
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

/** The most different decks in one plan that leave a number of sharings that can be looked at; all of them on the usual benches. */
function mostDecksOf(decks: number, count: number): number {
  let sharings = 0;
  for (let used = 1; used <= Math.min(decks, count); used++) {
    sharings += binomial(decks, used) * binomial(count - 1, used - 1);
    if (sharings > MOST_SHARINGS) return Math.max(1, used - 1);
  }
  return decks;
}

/** Every way to share `count` passes among at most `mostDecks` decks; of decks that are alike the earlier one gets as many or more. */
export function compositions(deckKinds: readonly number[], count: number, mostDecks = deckKinds.length): number[][] {
  const out: number[][] = [];
  const counts: number[] = [];
  const share = (deck: number, left: number, decksLeft: number): void => {
    if (deck === deckKinds.length) {
      if (left === 0) out.push(counts.flatMap((times, index) => new Array<number>(times).fill(index)));
      return;
    }
    const twin = deckKinds.lastIndexOf(deckKinds[deck], deck - 1);
    const most = deck > 0 && twin >= 0 ? Math.min(left, counts[twin]) : left;
    for (let times = decksLeft > 0 ? most : 0; times >= 0; times--) {
      counts[deck] = times;
      share(deck + 1, left - times, times > 0 ? decksLeft - 1 : decksLeft);
    }
  };
  share(0, count, mostDecks);
  return out;
}

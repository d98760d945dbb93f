// The least a state must still pay, or that it leads nowhere. Sum of bounds that cannot overlap: captures, groups, shortfall of decks.
import type { Bounds } from './bounds.ts';
import { GROUP_COST, type PassesProblem } from './problem.ts';
import type { State } from './state.ts';
import { bitCount } from './units.ts';

/** What the passes from one on still offer; made once for each pass. */
export interface Ahead {
  readonly reads: number;
  /** the same with repeats within a pass */
  readonly slots: number;
  readonly joins: number;
  readonly passes: number;
  /** per deck: most units its passes can read together */
  readonly readsOn: readonly number[];
  /** per unit: passes whose deck can read it */
  readonly perUnit: readonly number[];
  /** per unit: mask of decks that can read it */
  readonly decksPerUnit: readonly number[];
}

/** Index p: what passes p, p+1 ... offer. */
export function aheadOf(problem: PassesProblem, bounds: Bounds): Ahead[] {
  const { units, passes } = problem;
  const list = Array.from({ length: units.count }, (_, unit) => unit);
  return Array.from({ length: passes.length + 1 }, (_, from) => {
    const rest = passes.slice(from);
    const can = (deck: number, unit: number) => (bounds.decks[deck].units >> unit) & 1;
    return {
      reads: rest.reduce((sum, deck) => sum + bounds.decks[deck].reads, 0),
      slots: rest.reduce((sum, deck) => sum + bounds.decks[deck].slots, 0),
      joins: rest.reduce((sum, deck) => sum + bounds.decks[deck].joins, 0),
      passes: rest.length,
      readsOn: units.decks.map((_, deck) => rest.filter((one) => one === deck).length * bounds.decks[deck].reads),
      perUnit: list.map((unit) => rest.reduce((sum, deck) => sum + can(deck, unit), 0)),
      decksPerUnit: list.map((unit) => rest.reduce((mask, deck) => mask | (can(deck, unit) << deck), 0)),
    };
  });
}

/** Infinity where the state leads nowhere. */
export function leastRemaining(problem: PassesProblem, bounds: Bounds, ahead: readonly Ahead[], state: State): number {
  const { units, passes, reads, sameDeckCost, decksWanted } = problem;
  const later = ahead[Math.min(passes.length, state.pass + 1)];
  const deck = passes[state.pass];
  const reach = state.pass < passes.length ? bounds.decks[deck] : null;
  const readsNow = reach ? Math.min(reach.readsFrom[state.recorder], units.count - bitCount(state.now)) : 0;
  const joinsNow = reach ? reach.joinsFrom[state.recorder] : 0;
  const isOpen = reach !== null && reach.readsFrom[state.recorder] > 0;
  let missing = 0;
  let sameDeck = 0;
  let firsts = 0;
  let readsToDiffer = 0;
  const lacking = later.readsOn.map(() => 0);
  for (let unit = 0; unit < units.count; unit++) {
    const wanted = reads - state.counts[unit];
    const canNow = isOpen && !((state.now >> unit) & 1) && (reach.units >> unit) & 1 ? 1 : 0;
    if (wanted > later.perUnit[unit] + canNow) return Number.POSITIVE_INFINITY;
    missing += wanted;
    const reachable = bitCount(state.decks[unit] | later.decksPerUnit[unit] | (canNow ? 1 << deck : 0));
    sameDeck += units.sizes[unit] * Math.max(0, decksWanted - reachable);
    const short = Math.max(0, decksWanted - bitCount(state.decks[unit]));
    firsts += short;
    readsToDiffer += Math.max(wanted, short);
    for (let other = 0; other < lacking.length; other++) lacking[other] += ((state.decks[unit] >> other) & 1) ^ 1;
  }
  // First reads on a further deck are limited by what the passes on that deck can hold.
  const room = lacking.reduce(
    (sum, all, other) => sum + Math.min(all, later.readsOn[other] + (other === deck ? readsNow : 0)),
    0,
  );
  const readsLeft = later.reads + readsNow;
  sameDeck = Math.max(sameDeck, Math.max(firsts - room, readsToDiffer - readsLeft) * Math.min(...units.sizes));
  if (missing > readsLeft) return Number.POSITIVE_INFINITY;
  const slots = later.slots + (reach ? reach.slotsFrom[state.recorder] : 0);
  const { groups, finished } = countGroups(problem, bounds, state);
  // A group whose reads are all done needs one read more to be joined; where there is no room for it, it stays alone.
  const short = Math.max(0, missing + finished - slots);
  const least = Math.max(
    bounds.fewestGroups,
    groups - later.joins - joinsNow,
    bounds.fewestGroups + Math.ceil(short / 2),
  );
  const left = Math.min(groups, least);
  const extraReads = Math.max(0, finished - 2 * (left - bounds.fewestGroups));
  const passesToOpen = later.passes + (state.now === 0 && reach ? 1 : 0);
  const captures = Math.max(
    bounds.captures(missing + extraReads, groups - left),
    passesToOpen * bounds.cheapestCapture,
  );
  return captures + sameDeck * sameDeckCost + (problem.joins ? left * GROUP_COST : 0);
}

/** `finished`: groups that could still be joined and have no read left to come. */
function countGroups(problem: PassesProblem, bounds: Bounds, state: State): { groups: number; finished: number } {
  const { count } = problem.units;
  if (!problem.joins) return { groups: 1, finished: 0 };
  const seen = new Map<number, { open: boolean; closure: number }>();
  const perClosure = new Map<number, number>();
  for (let unit = 0; unit < count; unit++) {
    const group = state.groups[unit];
    const known = seen.get(group);
    const open = state.counts[unit] < problem.reads;
    if (known) known.open ||= open;
    else {
      const closure = bounds.closure[unit];
      seen.set(group, { open, closure });
      perClosure.set(closure, (perClosure.get(closure) ?? 0) + 1);
    }
  }
  let finished = 0;
  // Groups that have the timecode or a common start in this pass are joined by another capture's, without a read of their own.
  const joinable = new Set([state.groups[count], ...state.starts]);
  for (const [group, { open, closure }] of seen) {
    if (!open && !joinable.has(group) && (perClosure.get(closure) ?? 0) > 1) finished++;
  }
  return { groups: seen.size, finished };
}

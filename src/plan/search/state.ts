// Where a search stands: which reads are done, which units hang together, and how far the present pass is. States that differ only by the
// names of like units have the same key.
import type { PassesProblem } from './problem.ts';
import type { UnitDeck, UnitOption } from './units.ts';

export interface State {
  readonly pass: number;
  /** recorder that is decided next */
  readonly recorder: number;
  /** per unit: reads so far, at most what is wanted */
  readonly counts: Uint8Array;
  /** per unit: mask of decks it was read on */
  readonly decks: Uint8Array;
  /** per unit and for the timecode as last: group */
  readonly groups: Uint8Array;
  /** mask of units read in this pass */
  readonly now: number;
  /** mask of outputs used in this pass */
  readonly outputs: number;
  /** per set of recorders that start together: its group in this pass, -1 for none */
  readonly starts: readonly number[];
  /** the recorder before, just like this one, was left out */
  readonly skipped: boolean;
}

export function firstState(problem: PassesProblem): State {
  const { count } = problem.units;
  const sets = Math.max(-1, ...problem.startSets) + 1;
  return {
    ...{ pass: 0, recorder: 0, now: 0, outputs: 0, skipped: false },
    counts: new Uint8Array(count),
    decks: new Uint8Array(count),
    groups: Uint8Array.from({ length: count + 1 }, (_, unit) => (problem.joins ? unit : 0)),
    starts: new Array<number>(sets).fill(-1),
  };
}

/** The state after the recorder took the option; null for an option that cannot be taken now. */
export function take(problem: PassesProblem, state: State, option: UnitOption): State | null {
  const { units, passes, reads, startSets, timecoded } = problem;
  const deck = passes[state.pass];
  const outputs = state.outputs | option.outputs;
  if (state.outputs & option.outputs || !usesFirstTwins(units.decks[deck].earlierTwins, outputs)) return null;
  const counts = state.counts.slice();
  const decks = state.decks.slice();
  const groups = state.groups.slice();
  for (let unit = 0; unit < units.count; unit++) {
    if (!((option.units >> unit) & 1)) continue;
    if (!((state.now >> unit) & 1)) counts[unit] = Math.min(reads, counts[unit] + 1);
    decks[unit] |= 1 << deck;
  }
  const starts = [...state.starts];
  if (problem.joins && option.units) {
    const set = startSets[state.recorder];
    const first = 31 - Math.clz32(option.units & -option.units);
    const others = new Set<number>();
    for (let unit = 0; unit < units.count; unit++) if ((option.units >> unit) & 1) others.add(groups[unit]);
    if (timecoded[deck][state.recorder]) others.add(groups[units.count]);
    if (set >= 0 && starts[set] >= 0) others.add(starts[set]);
    const home = groups[first];
    for (let unit = 0; unit <= units.count; unit++) if (others.has(groups[unit])) groups[unit] = home;
    for (const [k, group] of starts.entries()) if (others.has(group)) starts[k] = home;
    if (set >= 0) starts[set] = home;
  }
  return {
    ...state,
    counts,
    decks,
    groups,
    starts,
    outputs,
    now: state.now | option.units,
    ...next(problem, state, false),
  };
}

/** The state when the recorder is left out of this pass. */
export function skip(problem: PassesProblem, state: State): State {
  return { ...state, ...next(problem, state, true) };
}

function next({ recorderKinds }: PassesProblem, { recorder }: State, isSkip: boolean) {
  return { recorder: recorder + 1, skipped: isSkip && recorderKinds[recorder] === recorderKinds[recorder + 1] };
}

/** The first state of the next pass; null where this pass took nothing. */
export function endPass(state: State): State | null {
  if (state.now === 0) return null;
  const starts = state.starts.map(() => -1);
  return { ...state, starts, pass: state.pass + 1, recorder: 0, now: 0, outputs: 0, skipped: false };
}

/** Like outputs are used in order: any other order is the same plan. */
function usesFirstTwins(earlierTwins: readonly number[], outputs: number): boolean {
  for (let output = 0; outputs >> output; output++) {
    if ((outputs >> output) & 1 && earlierTwins[output] & ~outputs) return false;
  }
  return true;
}

/** Groups of units; the timecode alone is none. */
export function groupCount(problem: PassesProblem, state: State): number {
  return new Set(state.groups.subarray(0, problem.units.count)).size;
}

/**
 * Per unit: mask of units before it that are like it in every respect here. A choice that takes a unit and not all of these is the same as
 * one that takes an earlier one instead, and need not be tried.
 */
export function likeUnits(problem: PassesProblem, state: State): number[] {
  const { units, passes } = problem;
  const deck = units.decks[passes[state.pass]];
  const members = new Uint8Array(units.count + 1);
  for (const group of state.groups) members[group]++;
  const seen = new Map<string, number>();
  return Array.from({ length: units.count }, (_, unit) => {
    const group = state.groups[unit];
    const isAlone = members[group] === 1 && !state.starts.includes(group);
    const key = `${codeOf(problem, deck, state, unit)},${isAlone ? 'alone' : group}`;
    const before = seen.get(key) ?? 0;
    seen.set(key, before | (1 << unit));
    return before;
  });
}

/** Equal for states that are the same but for the names of like units and groups. */
export function keyOf(problem: PassesProblem, state: State): string {
  const { units, passes } = problem;
  const deck = units.decks[passes[state.pass]];
  const groups = new Map<number, number[]>();
  for (let unit = 0; unit < units.count; unit++) {
    const code = codeOf(problem, deck, state, unit);
    const group = groups.get(state.groups[unit]);
    if (group) group.push(code);
    else groups.set(state.groups[unit], [code]);
  }
  const timecode = state.groups[units.count];
  const texts = [...groups].map(([group, codes]) => {
    const marks = state.starts.map((start) => (start === group ? 1 : 0)).join('');
    return `${codes.sort((a, b) => a - b).join('.')}${marks}${group === timecode ? 't' : ''}`;
  });
  const shared = state.outputs & (deck?.sharedOutputs ?? 0);
  return `${state.pass},${state.recorder},${shared},${state.skipped ? 1 : 0}|${texts.sort().join('|')}`;
}

function codeOf({ units }: PassesProblem, deck: UnitDeck | undefined, state: State, unit: number): number {
  let own = 0;
  for (const [rank, output] of (deck?.ownOutputs[unit] ?? []).entries()) own |= ((state.outputs >> output) & 1) << rank;
  const done = (units.classes[unit] * 16 + state.counts[unit]) * 256 + state.decks[unit];
  return (done * 2 + ((state.now >> unit) & 1)) * 256 + own;
}

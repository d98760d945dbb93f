// The vote at one sample where reads differ: a pure table from values, passes and evidence to a state. The rules and why
// they are so: docs/decisions/0002-proof-rules.md. Places where all reads are equal never come here.
import { LEAST_ODDS } from './conceal-marks.ts';
import type { ProofState, ReasonCode } from './provenance.ts';

/** Evidence against one read at this sample. */
export const CLEAN = 0;
/** a loss finding covers it, but the sample itself does not look concealed (a survivor, or an unknown mechanism) */
export const FOUND = 1;
/** it looks concealed, and a finding or the odds of its stretch say that this is no chance; or a mute or hold covers it */
export const SHOWN = 2;
export type EvidenceLevel = 0 | 1 | 2;

const MARGIN = Math.log(LEAST_ODDS);

export interface Ballot {
  readonly value: number;
  readonly pass: number;
  readonly level: EvidenceLevel;
  /** natural log of the odds that it is concealed, >= 0; findings included */
  readonly odds: number;
  /** looks like any mechanism of concealment, be it by chance */
  readonly looks: boolean;
  /** the carrier of this read says "no valid sample" here: it has no vote */
  readonly isLost?: boolean;
  /** the examination has something against it here */
  readonly isFound?: boolean;
  /** and that is a copy, perhaps an editor's */
  readonly isCopy?: boolean;
}

export interface Vote {
  /** index of a ballot with the winning value */
  readonly winner: number;
  readonly state: ProofState;
  readonly code: ReasonCode;
}

interface Group {
  readonly first: number;
  readonly value: number;
  readonly passes: Set<number>;
  level: EvidenceLevel;
  odds: number;
  /** the examination has something against every read of it */
  isFound: boolean;
  /** some read of the group shows no sign of concealment at all */
  clear: boolean;
}

/**
 * `preferred` is the order in which reads are taken where nothing decides. Needs at least two different values. Reads that carry an
 * error code have no vote: the others are compared as if those did not exist.
 */
export function vote(ballots: readonly Ballot[], preferred: readonly number[]): Vote {
  const voters = [...ballots.keys()].filter((i) => !ballots[i].isLost);
  if (voters.length === ballots.length) return voteOf(ballots, preferred);
  if (voters.length === 0) return { winner: preferred[0] ?? 0, state: 'unproven', code: 'all-reads-lost' };
  const kept = voters.map((i) => ballots[i]);
  const inOrder = preferred.map((i) => voters.indexOf(i)).filter((i) => i >= 0);
  const result = kept.every(({ value }) => value === kept[0].value) ? unanimous(kept) : voteOf(kept, inOrder);
  return { ...result, winner: voters[result.winner] };
}

/** All that have a sample have the same: two passes prove it, one is the only choice, unless it was concealed. */
function unanimous(kept: readonly Ballot[]): Vote {
  const winner = kept.findIndex(({ level }) => level === CLEAN);
  if (winner < 0) return { winner: 0, state: 'unproven', code: 'all-reads-concealed' };
  const isProven = new Set(kept.map(({ pass }) => pass)).size >= 2;
  return isProven
    ? { winner, state: 'proven', code: 'majority' }
    : { winner, state: 'chosen', code: 'other-read-lost' };
}

function voteOf(ballots: readonly Ballot[], preferred: readonly number[]): Vote {
  const groups = groupByValue(ballots);
  const most = Math.max(...groups.map((g) => g.passes.size));
  const top = groups.filter((g) => g.passes.size === most);
  const majority = most >= 2 && top.length === 1 ? top[0] : undefined;
  if (majority?.clear) return { winner: majority.first, state: 'proven', code: 'majority' };
  const least = Math.min(...groups.map((g) => g.level));
  const best = groups.filter((g) => g.level === least);
  if (best.length === 1 && isClear(best[0], groups))
    return { winner: best[0].first, state: 'chosen', code: 'other-read-concealed' };
  const value = majority && majority.level === least ? majority.value : likeliest(ballots, groups, preferred);
  return {
    winner: ballots.findIndex((b) => b.value === value),
    state: 'unproven',
    code: least === CLEAN ? 'reads-differ' : 'all-reads-concealed',
  };
}

/** Lower level alone is not enough: the odds against every rival must outweigh those against the winner. */
function isClear(winner: Group, groups: readonly Group[]): boolean {
  return groups.every((g) => g === winner || g.odds - winner.odds > MARGIN);
}

function groupByValue(ballots: readonly Ballot[]): Group[] {
  const groups: Group[] = [];
  for (const [index, ballot] of ballots.entries()) {
    const clear = ballot.level === CLEAN && !ballot.looks;
    const group = groups.find((g) => g.value === ballot.value);
    if (group) {
      group.passes.add(ballot.pass);
      if (ballot.level < group.level) group.level = ballot.level;
      group.odds = Math.min(group.odds, ballot.odds);
      group.isFound &&= ballot.isFound === true;
      group.clear ||= clear;
    } else
      groups.push({
        first: index,
        value: ballot.value,
        passes: new Set([ballot.pass]),
        level: ballot.level,
        odds: ballot.odds,
        isFound: ballot.isFound === true,
        clear,
      });
  }
  return groups;
}

/** Nothing proves or clearly tells it, but a value must stand there: one without a finding against it, then the one with the
 * least odds against it (they come from looks, which smooth sound has too), then the preferred read's. */
function likeliest(ballots: readonly Ballot[], among: readonly Group[], preferred: readonly number[]): number {
  const free = among.some((g) => !g.isFound) ? among.filter((g) => !g.isFound) : among;
  const least = Math.min(...free.map((g) => g.odds));
  const calm = free.filter((g) => g.odds <= least);
  const index = preferred.find((i) => calm.some((g) => g.value === ballots[i].value));
  return ballots[index ?? calm[0].first].value;
}

// One differing run: collects where the reads of a stretch differ, weighs the looks, votes sample by sample, and flags
// equal samples beside it that prove nothing. Plain arrays in, decisions out; knows no files and no provenance.
import { type ConcealMarks, LEAST_ODDS, markConcealed } from './conceal-marks.ts';
import { CONTEXT_FRAMES, GAP_FRAMES, LEAST_CONTEXT, MAX_RUN_FRAMES, REACH_FRAMES } from './limits.ts';
import { equalAt, type LookChance, lookChance, lookOf, stepOf } from './look.ts';
import { DIFFERS, DOUBTFUL, EQUAL_LOOK, flagSuspects, PLAIN } from './suspicion.ts';
import { type Ballot, CLEAN, FOUND, SHOWN, type Vote, vote } from './vote.ts';

/** `finding`: some of the samples here are the deck's. `whole`: all of them. `guard`: beside such a place, perhaps still its ramp. `copy`: the same
 * samples twice, which no other read has. */
export type FoundHere = 'nothing' | 'finding' | 'whole' | 'guard' | 'copy';

/** Everything is in indices of the planes. */
export interface RunInput {
  /** planes of the covering reads, in the order of `passes` */
  readonly planes: readonly Int32Array[];
  readonly passes: readonly number[];
  /** per read: the sample by which its carrier says "no valid sample"; undefined where there is none */
  readonly lostValues: readonly (number | undefined)[];
  /** what the findings say of each read; asked with rising frames */
  readonly found: readonly ((at: number) => FoundHere)[];
  readonly preferred: readonly number[];
  /** the first differing frame, and how far to the left frames are still undecided */
  readonly first: number;
  readonly undecidedFrom: number;
  /** edges of the stretch */
  readonly from: number;
  readonly to: number;
  /** smallest true step, or 0 to measure it here */
  readonly step: number;
  /** chance measured at the run before, for runs with nothing undamaged around them */
  readonly lastChance: LookChance | null;
}

/** Natural log of the odds a loss finding adds: our own choice, well above chance, below a long visible burst. */
const FINDING_ODDS = Math.log(1000);

export interface JudgedRun {
  /** decisions cover [from, to) */
  readonly from: number;
  readonly to: number;
  /** differing frames, ascending, and the vote on each */
  readonly at: Int32Array;
  readonly votes: readonly Vote[];
  readonly ballots: readonly (readonly Ballot[])[];
  readonly marks: readonly ConcealMarks[];
  /** per frame of [from, to): 1 = equal but doubtful (suspicion.ts) */
  readonly suspect: Uint8Array;
  readonly chance: LookChance;
}

export function judgeRun(input: RunInput): JudgedRun {
  const at = differingFrames(input);
  const first = at[0];
  const last = at[at.length - 1];
  const from = Math.max(input.from, first - CONTEXT_FRAMES - 1);
  const to = Math.min(input.to, last + 1 + CONTEXT_FRAMES + 1);
  const step = input.step || stepOf(input.planes, from, to);
  const chance = chanceAround(input, first, last, from, to, step);
  const looks = input.planes.map((plane) => Uint8Array.from(at, (i) => lookOf(plane, i, from, to, step)));
  const marks = looks.map((look, r) => markConcealed(look, chance.byRead[r]));
  const ballots = Array.from(at, (i, k) =>
    input.planes.map((plane, r) =>
      plane[i] === input.lostValues[r]
        ? lostBallot(plane[i], input.passes[r])
        : ballotAt(plane[i], input.passes[r], looks[r][k], marks[r].odds[k], input.found[r](i)),
    ),
  );
  const votes = ballots.map((b) => vote(b, input.preferred));
  const neighbourhood = suspects(input, at, looks, { chance: chance.all, from, to, step });
  return { ...neighbourhood, at, votes, ballots, marks, chance };
}

function differingFrames(input: RunInput): Int32Array {
  const at: number[] = [];
  const end = Math.min(input.to, input.first + MAX_RUN_FRAMES);
  for (let i = input.first, last = i; i < end && i - last <= GAP_FRAMES; i++) {
    if (equalAt(input.planes, i)) continue;
    at.push(i);
    last = i;
  }
  return Int32Array.from(at);
}

function chanceAround(
  input: RunInput,
  first: number,
  last: number,
  from: number,
  to: number,
  step: number,
): LookChance {
  const ranges = [
    [Math.max(from, first - CONTEXT_FRAMES), first],
    [last + 1, Math.min(to, last + 1 + CONTEXT_FRAMES)],
  ] as const;
  const chance = lookChance(input.planes, ranges, from, to, step);
  return chance.samples < LEAST_CONTEXT && input.lastChance ? input.lastChance : chance;
}

function ballotAt(value: number, pass: number, look: number, odds: number, found: FoundHere): Ballot {
  const looks = look !== 0;
  const isWhole = found === 'whole' || found === 'guard' || found === 'copy';
  const isShown = isWhole || (looks && (found === 'finding' || odds > Math.log(LEAST_ODDS)));
  const level = isShown ? SHOWN : found === 'finding' ? FOUND : CLEAN;
  const isCopy = found === 'copy';
  const isFound = isCopy || found === 'finding' || found === 'whole';
  return { value, pass, level, looks, isFound, isCopy, odds: odds + (found === 'nothing' ? 0 : FINDING_ODDS) };
}

function lostBallot(value: number, pass: number): Ballot {
  return { value, pass, level: SHOWN, looks: true, isLost: true, isFound: true, odds: Number.POSITIVE_INFINITY };
}

function suspects(
  input: RunInput,
  at: Int32Array,
  looks: readonly Uint8Array[],
  known: { chance: number; from: number; to: number; step: number },
): { from: number; to: number; suspect: Uint8Array } {
  const { planes } = input;
  const last = at[at.length - 1];
  const from = Math.max(input.undecidedFrom, at[0] - REACH_FRAMES);
  const limit = Math.min(input.to, last + 1 + REACH_FRAMES);
  const seen = new Uint8Array(limit - from);
  let next = 0;
  let end = from;
  for (let i = from; i < limit; i++, end = i) {
    const differs = next < at.length && at[next] === i;
    if (!differs && i > last && !equalAt(planes, i)) break;
    if (differs) {
      // A code stands where nothing was covered up: it makes nobody suspect.
      const isCoded = planes.some((plane, r) => plane[i] === input.lostValues[r]);
      seen[i - from] = !isCoded && looks.some((l) => l[next] !== 0) ? DIFFERS : PLAIN;
      next++;
    } else if (planes.every((p) => lookOf(p, i, known.from, known.to, known.step) !== 0)) seen[i - from] = EQUAL_LOOK;
  }
  const suspect = new Uint8Array(end - from);
  flagSuspects(seen.subarray(0, end - from), known.chance, new Set(input.passes).size, suspect);
  const to = Math.max(last, from + suspect.lastIndexOf(DOUBTFUL)) + 1;
  return { from, to, suspect: suspect.subarray(0, to - from) };
}

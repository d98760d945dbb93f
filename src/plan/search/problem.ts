// The search's question and answer: with these passes on these decks, which captures read every channel often enough, leave the fewest
// groups, and cost least? Plain data.
import type { Units } from './units.ts';

export interface BenchProblem {
  readonly units: Units;
  /** reads every channel must get, each in a pass of its own */
  readonly reads: number;
  /** per recorder: recorders with the same number are alike */
  readonly recorderKinds: readonly number[];
  /** per recorder: number of the set that starts together, -1 for none */
  readonly startSets: readonly number[];
  /** per deck and recorder: captures carry a timecode that counts as a join */
  readonly timecoded: readonly (readonly boolean[])[];
  /** whether groups count at all */
  readonly joins: boolean;
  /** decks that reads of a channel should be on, at least */
  readonly decksWanted: number;
  /** thousandths of a point per channel and deck short of that */
  readonly sameDeckCost: number;
}

export interface PassesProblem extends BenchProblem {
  /** deck of each pass; passes on the same deck stand together */
  readonly passes: readonly number[];
  /** steps to try before giving up the proof */
  readonly mostSteps: number;
}

/** More than any sum of other costs: groups are compared first. */
export const GROUP_COST = 1e12;

export interface PassesAnswer {
  /** per pass and recorder: index of the option, -1 for none */
  readonly taken: readonly (readonly number[])[];
  /** captures and shortfall of decks, thousandths of a point; the passes themselves are not in it */
  readonly cost: number;
  readonly groups: number;
}

export interface PassesResult {
  /** null: impossible with these passes */
  readonly answer: PassesAnswer | null;
  /** false: the search was cut, `answer` may not be the best and null proves nothing */
  readonly isExact: boolean;
  /** no answer is below; groups times GROUP_COST included */
  readonly bound: number;
  /** that were tried */
  readonly steps: number;
}

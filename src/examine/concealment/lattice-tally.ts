// What is counted on a lattice and off it, before anything is weighed. Not for choosing its phases, nor for its chance (judge-lattice.ts).
import type { HitRule } from './hits.ts';
import { FEWEST_VALUES, type Stretch } from './judged-stretch.ts';

export interface LatticeTally {
  /** hits on the lattice, and its places that are none */
  readonly replaced: number;
  readonly misses: number;
  /** index of the first and of the last hit; -1 where there is none */
  readonly first: number;
  readonly last: number;
  /** places in its middle half, and those of them that no rounding explains */
  readonly inMiddle: number;
  readonly beside: number;
  readonly offPlaces: number;
  readonly offHits: number;
  /** sum over the places off the lattice */
  readonly offRoughness: number;
  /** different values off the lattice, up to FEWEST_VALUES */
  readonly offValues: number;
  /** sums of the moves to the places off the lattice from the sample before, and from that two periods before */
  readonly moved: number;
  readonly movedInPeriods: number;
}

/** Whether the lattice has replaced sample i of the stretch. */
export function isReplacedAt({ marks, from }: Stretch, isOn: readonly boolean[], i: number): boolean {
  return marks[i] === 1 && isOn[(i - from) % isOn.length];
}

/** `isOn`: per phase, counted from the candidate's first sample. */
export function tallyOf(stretch: Stretch, rule: HitRule, isOn: readonly boolean[]): LatticeTally {
  return { ...onLattice(stretch, rule, isOn), ...offLattice(stretch, rule, isOn) };
}

function onLattice({ samples, marks, from, to }: Stretch, rule: HitRule, isOn: readonly boolean[]) {
  let [replaced, misses, first, last, inMiddle, beside] = [0, 0, -1, -1, 0, 0];
  const quarter = (to - from) >> 2;
  for (let i = from; i < to; i++) {
    if (!isOn[(i - from) % isOn.length]) continue;
    const isInMiddle = i >= from + quarter && i < to - quarter;
    if (isInMiddle) inMiddle++;
    if (marks[i]) {
      replaced++;
      if (first < 0) first = i;
      last = i;
    } else {
      misses++;
      if (isInMiddle && rule.deviation(samples, i) !== 0) beside++;
    }
  }
  return { replaced, misses, first, last, inMiddle, beside };
}

function offLattice({ samples, marks, from, to }: Stretch, rule: HitRule, isOn: readonly boolean[]) {
  let [offPlaces, offHits, offRoughness, moved, movedInPeriods] = [0, 0, 0, 0, 0];
  const values = new Set<number>();
  for (let i = from; i < to; i++) {
    if (isOn[(i - from) % isOn.length]) continue;
    offPlaces++;
    if (values.size < FEWEST_VALUES) values.add(samples[i]);
    offHits += marks[i];
    moved += Math.abs(samples[i] - samples[i - 1]);
    movedInPeriods += Math.abs(samples[i] - samples[Math.max(0, i - 2 * isOn.length)]);
    offRoughness += Math.abs(rule.deviation(samples, i));
  }
  return { offPlaces, offHits, offRoughness, offValues: values.size, moved, movedInPeriods };
}

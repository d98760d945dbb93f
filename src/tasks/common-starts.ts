// Captures of one pass that the sheet says began together (`starts`): what no samples join, their common first frame does. Declared is not
// proven, and every placement so made says so; where samples put them apart, that is told.
import { type Alignment, joinGroups, type Placement } from '../align/index.ts';

export interface StartFacts {
  readonly pass: number;
  /** captures of a pass with the same word began at the same frame */
  readonly starts?: string | null | undefined;
}

const COMMON_START = 'common start by the sheet';

/** Groups that a common start joins become one, on the timeline of the earlier. `frames[i]`: length of capture i. */
export function joinStarts(alignment: Alignment, facts: readonly StartFacts[], frames: readonly number[]): Alignment {
  let joined = alignment;
  for (const [first, ...others] of startSets(facts)) {
    for (const other of others) joined = joinTwo(joined, first, other, frames);
  }
  return joined;
}

/** Sentences: captures that began together by the sheet and not by their samples. */
export function startContradictions(
  { placements }: Alignment,
  facts: readonly StartFacts[],
  nameOf: (capture: number) => string,
): string[] {
  return startSets(facts).flatMap(([first, ...others]) =>
    others.flatMap((other) => {
      const [a, b] = [placements[first], placements[other]];
      const apart = startOf(b) - startOf(a);
      const doubt = (a.uncertaintyFrames ?? 0) + (b.uncertaintyFrames ?? 0);
      if (a.group !== b.group || Math.abs(apart) <= doubt) return [];
      const when = `${Math.abs(apart)} frames ${apart > 0 ? 'after' : 'before'}`;
      return [
        `${nameOf(other)} began together with ${nameOf(first)} by the sheet (starts: ${facts[first].starts}), and ${when} it by the samples; the samples were followed`,
      ];
    }),
  );
}

function startSets(facts: readonly StartFacts[]): number[][] {
  const sets = new Map<string, number[]>();
  for (const [i, { pass, starts }] of facts.entries()) {
    if (typeof starts === 'string') sets.set(`${pass} ${starts}`, [...(sets.get(`${pass} ${starts}`) ?? []), i]);
  }
  return [...sets.values()];
}

/** Timeline frame of the capture's frame 0. */
function startOf({ segments }: Placement): number {
  return segments[0]?.offset ?? 0;
}

function joinTwo(alignment: Alignment, a: number, b: number, frames: readonly number[]): Alignment {
  const { placements } = alignment;
  if (placements[a].group === placements[b].group) return alignment;
  // At their own first frames, whatever slips follow.
  return joinGroups(alignment, [a, b], [0, 0], frames, {
    method: COMMON_START,
    uncertaintyFrames: null,
    reason: (old, capture) =>
      capture === a || capture === b
        ? `placed by a common start that the sheet declares; no samples confirm it (${old})`
        : `joined by samples to a capture that is placed by a common start, which the sheet declares (${old})`,
  });
}

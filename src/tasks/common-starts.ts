// Captures of one pass that the sheet says began together (`starts`): what no samples join, their common first frame does. Declared is not
// proven, and every placement so made says so; where samples put them apart, that is told.
import type { Alignment, Placement } from '../align/index.ts';

export interface StartFacts {
  readonly pass: number;
  /** captures of a pass with the same word began at the same frame */
  readonly starts?: string | null | undefined;
}

export const COMMON_START = 'common start by the sheet';

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
  const { placements, groups } = alignment;
  if (placements[a].group === placements[b].group) return alignment;
  const [kept, moved] = placements[a].group < placements[b].group ? [a, b] : [b, a];
  const shift = startOf(placements[kept]) - startOf(placements[moved]);
  const [home, away] = [placements[kept].group, placements[moved].group];
  const numbered = (group: number) => (group === away ? home : group > away ? group - 1 : group);
  return {
    ...alignment,
    groups: groups.flatMap((list, group) =>
      group === away ? [] : [group === home ? [...list, ...groups[away]] : list],
    ),
    placements: placements.map((placement): Placement => {
      const group = numbered(placement.group);
      if (placement.group !== away) return { ...placement, group };
      return movedBy(shift, group, placement, frames[placement.capture]);
    }),
  };
}

function movedBy(shift: number, group: number, placement: Placement, length: number): Placement {
  const own = placement.segments.length > 0 ? placement.segments : [{ start: 0, length, offset: 0 }];
  return {
    ...placement,
    group,
    relation: placement.relation === 'unrelated' ? 'bit-equal' : placement.relation,
    segments: own.map((segment) => ({ ...segment, offset: segment.offset + shift })),
    uncertaintyFrames: null,
    method: COMMON_START,
    reason: `placed by a common start that the sheet declares; no samples confirm it (${placement.reason})`,
  };
}

// Two groups of captures become one when something outside the samples says how far apart they lie: the later group moves onto the timeline of
// the earlier. Not for what says so.
import type { Alignment, Placement } from './placement.ts';

/** What the placements that were moved say of themselves. */
export type Moved = Pick<Placement, 'uncertaintyFrames' | 'method'> & {
  /** `capture`: whose placement it is, also of those that move along with the one that was joined */
  reason(old: string, capture: number): string;
};

/** Timeline frame of a frame of the capture, by the placement's segment there; of a capture that stands alone, the frame itself. */
export function timelineFrame({ segments }: Placement, frame: number): number {
  const own = segments.filter(({ start }) => start <= frame).at(-1) ?? segments[0];
  return frame + (own?.offset ?? 0);
}

/** The groups of two captures joined so that frame `of[1]` of the second lies where frame `of[0]` of the first does. */
export function joinGroups(
  { placements, groups, ...rest }: Alignment,
  captures: readonly [number, number],
  of: readonly [number, number],
  frames: readonly number[],
  moved: Moved,
): Alignment {
  const [a, b] = captures.map((capture) => placements[capture]);
  const [keep, move] = a.group < b.group ? [0, 1] : [1, 0];
  const [kept, away] = [placements[captures[keep]], placements[captures[move]]];
  const shift = timelineFrame(kept, of[keep]) - timelineFrame(away, of[move]);
  const numbered = (group: number) => (group === away.group ? kept.group : group > away.group ? group - 1 : group);
  return {
    ...rest,
    groups: groups.flatMap((list, group) => {
      if (group === away.group) return [];
      return [group === kept.group ? [...list, ...groups[away.group]] : list];
    }),
    placements: placements.map((placement): Placement => {
      const group = numbered(placement.group);
      const standing = standingAlone(placement, frames[placement.capture]);
      if (placement.group === away.group) return movedBy(shift, group, standing, moved);
      return { ...(placement.group === kept.group ? standing : placement), group };
    }),
  };
}

/** A capture that nothing was joined to lies on a timeline of its own, from its first frame. */
function standingAlone(placement: Placement, length: number): Placement {
  if (placement.segments.length > 0) return placement;
  return { ...placement, relation: 'bit-equal', driftPpm: 0, segments: [{ start: 0, length, offset: 0 }] };
}

function movedBy(shift: number, group: number, placement: Placement, moved: Moved): Placement {
  return {
    ...placement,
    group,
    segments: placement.segments.map((segment) => ({ ...segment, offset: segment.offset + shift })),
    uncertaintyFrames:
      moved.uncertaintyFrames === null ? null : moved.uncertaintyFrames + (placement.uncertaintyFrames ?? 0),
    method: moved.method,
    reason: moved.reason(placement.reason, placement.capture),
  };
}

// Starts declared on the sheet join what no samples could: the group of such a capture moves onto the first group's
// timeline. Declared is not proven, and every placement so made says so.
import type { Alignment, Placement } from '../align/index.ts';

/** `offsets[i]`: timeline frame of capture i's frame 0 as declared, null where the sheet says nothing. */
export function joinDeclared(
  alignment: Alignment,
  offsets: readonly (number | null)[],
  frames: readonly number[],
): Alignment {
  const shiftOf = (group: readonly number[]): number | undefined => {
    for (const capture of group) {
      const declared = offsets[capture];
      if (declared === null || declared === undefined) continue;
      return declared - (alignment.placements[capture].segments[0]?.offset ?? 0);
    }
    return undefined;
  };
  const [first, ...others] = alignment.groups;
  if (first === undefined) return alignment;
  const base = shiftOf(first) ?? 0;
  const joined = others.filter((group) => shiftOf(group) !== undefined);
  if (joined.length === 0) return alignment;
  const kept = others.filter((group) => !joined.includes(group));
  const placements = alignment.placements.map((placement): Placement => {
    const old = alignment.groups[placement.group];
    if (placement.group === 0) return placement;
    const shift = shiftOf(old);
    if (shift === undefined) return { ...placement, group: 1 + kept.indexOf(old) };
    return declaredPlacement(placement, shift - base, frames[placement.capture]);
  });
  return { ...alignment, placements, groups: [[...first, ...joined.flat()], ...kept] };
}

function declaredPlacement(placement: Placement, shift: number, frames: number): Placement {
  const own = placement.segments.length ? placement.segments : [{ start: 0, length: frames, offset: 0 }];
  return {
    ...placement,
    group: 0,
    relation: placement.relation === 'unrelated' ? 'bit-equal' : placement.relation,
    segments: own.map((segment) => ({ ...segment, offset: segment.offset + shift })),
    driftPpm: null,
    uncertaintyFrames: null,
    method: 'declared on the sheet',
    reason: `placed where the sheet says; no samples confirm it (${placement.reason})`,
  };
}

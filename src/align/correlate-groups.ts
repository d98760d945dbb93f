// stub

import type { StopSignal } from '../base/index.ts';
import type { AlignInput, Relation } from './placement.ts';
import type { CapturePosition } from './timeline.ts';
export interface GroupJoin {
  readonly into: null | {
    group: number;
    capture: number;
    relation: Relation;
    offset: number;
    driftPpm: number;
    uncertaintyFrames: number;
    gain: number;
    reason: string;
    channelPair: readonly [number, number];
    comparedFrames: number;
    differingFrames: number;
  };
  readonly tried: string | null;
}
export async function correlateGroups(
  _inputs: readonly AlignInput[],
  exact: readonly ReadonlyMap<number, CapturePosition>[],
  _stop?: StopSignal,
): Promise<GroupJoin[]> {
  return exact.map(() => ({ into: null, tried: null }));
}

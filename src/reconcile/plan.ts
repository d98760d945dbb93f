// Which captures may give samples to which master channel: the plan that reconciling follows and a person can read first.
// Decides nothing about single samples.
import type { Alignment, Placement, Relation } from '../align/index.ts';
import { formatRate, type Rate, rate, sameRate } from '../base/index.ts';
import { placedSpans } from './placed-spans.ts';
import type { ReadRef, ReconcileCapture } from './provenance.ts';

export interface PlannedChannel {
  /** tape channel, 1-based */
  readonly channel: number;
  readonly reads: readonly ReadRef[];
}

export interface ReconcilePlan {
  readonly group: number;
  /** timeline frame of master frame 0 */
  readonly start: number;
  readonly frames: number;
  /** widest capture; all reads are left-justified to it */
  readonly bits: number;
  readonly rate: Rate;
  /** in order of the tape channel; the order of the master's planes */
  readonly channels: readonly PlannedChannel[];
  /** what was left out and why, in the user's words */
  readonly problems: readonly string[];
}

/**
 * Only bit-equal placements vote. A channel that exists in nothing better is taken as it stands from one capture whose
 * level was changed, and stays unproven. Resampled and analogue captures never enter a master.
 */
export function planReconcile(captures: readonly ReconcileCapture[], alignment: Alignment, group = 0): ReconcilePlan {
  const placements = alignment.placements.filter((p) => p.group === group && captures[p.capture] !== undefined);
  const problems: string[] = [];
  const channels = new Map<number, ReadRef[]>();
  for (const placement of placements.filter((p) => p.relation === 'bit-equal')) addReads(channels, captures, placement);
  addScaled(channels, captures, placements, problems);
  for (const placement of placements) {
    const why = REFUSED[placement.relation];
    if (why) problems.push(`${nameOf(captures, placement)}: ${why}; its samples are not used in the master`);
  }
  const ordered = [...channels].sort(([a], [b]) => a - b).map(([channel, reads]) => ({ channel, reads }));
  const used = new Set(ordered.flatMap(({ reads }) => reads.map((r) => r.capture)));
  return measure(captures, placements, group, ordered, used, problems);
}

const REFUSED: Partial<Record<Relation, string>> = {
  resampled: 'its clock differs from the reference, so its samples were computed anew on the way',
  'via-analogue': 'it came through an analogue connection, so no sample can be equal by proof',
  unrelated: 'it lies on no known place of the timeline',
};

function nameOf(captures: readonly ReconcileCapture[], placement: Placement): string {
  return captures[placement.capture].source.info.name;
}

function addReads(channels: Map<number, ReadRef[]>, captures: readonly ReconcileCapture[], placement: Placement): void {
  if (placement.segments.length === 0) return;
  const { channels: map, source } = captures[placement.capture];
  for (const [index, channel] of map.entries()) {
    if (channel <= 0 || index >= source.info.channels) continue;
    const reads = channels.get(channel) ?? [];
    reads.push({ capture: placement.capture, fileChannel: index + 1 });
    channels.set(channel, reads);
  }
}

/** One scaled capture per channel at most, the first, and only where no bit-equal read exists. */
function addScaled(
  channels: Map<number, ReadRef[]>,
  captures: readonly ReconcileCapture[],
  placements: readonly Placement[],
  problems: string[],
): void {
  for (const placement of placements.filter((p) => p.relation === 'scaled')) {
    const offered = new Map<number, ReadRef[]>();
    addReads(offered, captures, placement);
    for (const [channel, reads] of offered) {
      const free = !channels.has(channel);
      if (free) channels.set(channel, reads.slice(0, 1));
      const what = free ? 'taken as it is and unproven' : 'not used, there is a better read';
      problems.push(
        `${nameOf(captures, placement)}: channel ${channel} is not bit-equal (its level was changed): ${what}`,
      );
    }
  }
}

function measure(
  captures: readonly ReconcileCapture[],
  placements: readonly Placement[],
  group: number,
  channels: readonly PlannedChannel[],
  used: ReadonlySet<number>,
  problems: string[],
): ReconcilePlan {
  let start = Number.POSITIVE_INFINITY;
  let end = Number.NEGATIVE_INFINITY;
  for (const placement of placements.filter((p) => used.has(p.capture))) {
    for (const span of placedSpans(placement)) {
      start = Math.min(start, span.start);
      end = Math.max(end, span.start + span.length);
    }
  }
  const infos = placements.filter((p) => used.has(p.capture)).map((p) => captures[p.capture].source.info);
  const masterRate = infos[0]?.rate ?? captures[0]?.source.info.rate ?? rate(48000);
  for (const info of infos.filter((i) => !sameRate(i.rate, masterRate))) {
    problems.push(
      `${info.name}: states ${formatRate(info.rate)}, the master ${formatRate(masterRate)}; samples are equal`,
    );
  }
  if (channels.length === 0) problems.push('no capture of this group gives a channel to the master');
  return {
    group,
    start: end > start ? start : 0,
    frames: end > start ? end - start : 0,
    bits: infos.reduce((widest, info) => Math.max(widest, info.bits), 0) || 16,
    rate: masterRate,
    channels,
    problems,
  };
}

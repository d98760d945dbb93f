// Captures whose channels are not where the sheet says: swapped cables, swapped labels. The samples decide, by exact equality
// with a capture that already stands; which of the two labels is the wrong one they cannot tell. Not for likeness.
import { type Alignment, align, type Placement } from '../align/index.ts';
import type { TaskContext } from './context.ts';
import type { OpenCapture } from './open-captures.ts';

export interface Mislabelled {
  readonly capture: number;
  /** tape channel of each file channel, as the samples have it */
  readonly channels: readonly number[];
  readonly reason: string;
}

interface Labelled {
  readonly channels?: readonly number[] | undefined;
}

/** Looks at captures that were not joined bit for bit though the sheet gives them a channel in common with one that was. */
export async function findMislabelled(
  captures: readonly OpenCapture[],
  facts: readonly Labelled[],
  alignment: Alignment,
  { stop }: TaskContext,
): Promise<Mislabelled[]> {
  const isExact = ({ group, relation }: Placement) => group === 0 && relation === 'bit-equal';
  const joined = alignment.placements.filter(isExact).map(({ capture }) => capture);
  const found: Mislabelled[] = [];
  for (const { capture } of alignment.placements.filter((placement) => !isExact(placement))) {
    for (const partner of joined) {
      if (!shareChannel(facts[capture], facts[partner])) continue;
      const pair = [partner, capture];
      const { placements } = await align(
        pair.map((c) => ({ source: captures[c].audio })),
        { anchors: pair.map((c) => captures[c].anchors), stop },
      );
      const [, own] = placements;
      if (own.group !== 0 || own.relation !== 'bit-equal' || own.channelPairs.length === 0) continue;
      found.push(relabelled(captures, facts, capture, partner, own.channelPairs));
      break;
    }
  }
  return found;
}

function shareChannel(a: Labelled, b: Labelled): boolean {
  return a.channels?.some((channel) => channel > 0 && b.channels?.includes(channel)) ?? false;
}

function relabelled(
  captures: readonly OpenCapture[],
  facts: readonly Labelled[],
  capture: number,
  partner: number,
  pairs: readonly (readonly [number, number])[],
): Mislabelled {
  const partnerChannels = facts[partner].channels ?? [];
  const equal = new Map(pairs.map(([own, other]) => [own, partnerChannels[other - 1] ?? 0]));
  const taken = new Set(equal.values());
  const said = facts[capture].channels ?? [];
  // A channel that nothing vouches for keeps its label unless an equal one has it.
  const channels = said.map((label, c) => equal.get(c + 1) ?? (taken.has(label) ? 0 : label));
  const [own, other] = [captures[capture].examined.path, captures[partner].examined.path];
  const reason =
    `${own}: the sheet says channels ${said.join(', ')}, but its samples are those that ${other} has as ` +
    `${channels.map((channel) => (channel === 0 ? 'none' : channel)).join(', ')}; used so. One of the two labels is wrong: check the cables`;
  return { capture, channels, reason };
}

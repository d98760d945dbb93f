// Which channels of two captures may be compared at all.
import type { ChannelPair } from './match.ts';
import type { AlignInput } from './placement.ts';

/** File channel pairs (0-based) of the same tape channel; every pair when a map is missing. 0 in a map = not used. */
export function commonChannels(own: AlignInput, other: AlignInput): ChannelPair[] {
  const isKnown = own.channels !== undefined && other.channels !== undefined;
  const pairs: ChannelPair[] = [];
  for (let a = 0; a < own.source.info.channels; a++) {
    for (let b = 0; b < other.source.info.channels; b++) {
      const isUsed = own.channels?.[a] !== 0 && other.channels?.[b] !== 0;
      if (isUsed && (!isKnown || own.channels?.[a] === other.channels?.[b])) pairs.push([a, b]);
    }
  }
  return pairs;
}

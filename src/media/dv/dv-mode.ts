// The mode of DV sound: what stays the same over a stretch that can be read as one recording, and what follows from it.
import type { DvRateHz, DvSystem } from './dif-system.ts';

export interface DvMode {
  readonly system: DvSystem;
  readonly rateHz: DvRateHz;
  readonly word: 16 | 12;
  /** DIF channels: two in 50 Mb/s streams */
  readonly difChannels: 1 | 2;
}

export function channelsOf({ word, difChannels }: DvMode): number {
  return (word === 12 ? 4 : 2) * difChannels;
}

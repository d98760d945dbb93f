// Finds the sync words of coded audio in a two-channel stream: IEC 61937 (16 bit: F872 4E1F) and its 20- and 24-bit forms in
// SMPTE 337M (6F872 54E1F, 96F872 A54E1F; certainty M), in either byte order. In a stereo stream the first word stands left, the second
// right. Not for decoding what follows.
import type { Block } from '../../base/index.ts';
import { mayHold } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';

interface Sync {
  readonly first: number;
  readonly second: number;
}

interface PairState {
  count: number;
  last: number;
  /** frames from the last sync word but one to the last */
  distance: number;
  /** how often the distance was that of before */
  regular: number;
}

/** State with a life: push all blocks in order, then ask. Channels are taken two by two; an odd last one is left out. */
export class BurstFinder {
  readonly #syncs: readonly Sync[];
  readonly #pairs: PairState[];
  #frames = 0;

  constructor(channels: number, bits: number) {
    this.#syncs = syncsOf(bits);
    this.#pairs = Array.from({ length: channels >> 1 }, () => ({ count: 0, last: -1, distance: 0, regular: 0 }));
  }

  push(block: Block): void {
    this.#frames += block.frames;
    const statistics = statisticsOf(block);
    for (const [p, state] of this.#pairs.entries()) {
      const [a, b] = [2 * p, 2 * p + 1];
      for (const { first, second } of this.#syncs) {
        // Sound seldom has both values in one block, which the totals tell without a search.
        if (!mayHold(statistics[a], first) || !mayHold(statistics[b], second)) continue;
        search(block.planes[a], block.planes[b], first, second, (at) => meet(state, block.start + at));
      }
    }
  }

  /** Sync words seen in the pair of this channel (0-based). */
  count(channel: number): number {
    return this.#pairs[channel >> 1]?.count ?? 0;
  }

  /** Frames between the last two; null where there were not two. */
  distance(channel: number): number | null {
    const state = this.#pairs[channel >> 1];
    return state && state.count > 1 ? state.distance : null;
  }

  /** Of so many sync words in a stream of evenly spread words; sound is rarer still. */
  chance(channel: number): number {
    const expected = (this.#frames * this.#syncs.length) / 2 ** 32;
    return Math.min(1, expected ** this.count(channel));
  }
}

function search(a: Int32Array, b: Int32Array, first: number, second: number, found: (at: number) => void): void {
  for (let at = a.indexOf(first); at >= 0; at = a.indexOf(first, at + 1)) if (b[at] === second) found(at);
}

function meet(state: PairState, at: number): void {
  const distance = at - state.last;
  if (state.last >= 0) {
    if (distance === state.distance) state.regular++;
    state.distance = distance;
  }
  state.last = at;
  state.count++;
}

function syncsOf(bits: number): Sync[] {
  const found: Sync[] = [];
  const add = (width: number, first: number, second: number) => {
    if (width <= bits)
      found.push({ first: leftJustified(first, width, bits), second: leftJustified(second, width, bits) });
  };
  add(16, 0xf872, 0x4e1f);
  add(16, 0x72f8, 0x1f4e);
  add(20, 0x6f872, 0x54e1f);
  add(24, 0x96f872, 0xa54e1f);
  return found;
}

function leftJustified(word: number, width: number, bits: number): number {
  return (word << (32 - width)) >> (32 - bits);
}

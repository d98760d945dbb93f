// Pairs of equal anchors of two captures, found by a sorted join: no reading, no quadratic search. Says nothing about
// which of them belong together; that is chain.ts.
import { type AnchorList, orderOf } from '../signal/index.ts';

/** Frame `own[n]` of one capture holds the same window as frame `other[n]` of the other; sorted by own, then other. */
export interface Matches {
  readonly own: Float64Array;
  readonly other: Float64Array;
  /** channel pairs that say so */
  readonly weight: Float64Array;
}

/** [channel of the one, channel of the other], 0-based. */
export type ChannelPair = readonly [number, number];

/** A hash found this often on both sides together is ordinary; beyond, only a part of such hashes is used. */
const ORDINARY_PRODUCT = 64;
/** Pairs of matches held at once, per channel pair. */
const BUDGET = 400_000;

export interface SortedAnchors {
  readonly hashes: Float64Array;
  readonly frames: Float64Array;
}

export function sortAnchors(list: AnchorList): SortedAnchors {
  // Frames ascend already, and equal hashes stay as they are.
  const order = orderOf(list.hashes);
  return { hashes: inOrder(list.hashes, order), frames: inOrder(list.frames, order) };
}

function inOrder(values: Float64Array, order: Uint32Array): Float64Array {
  const sorted = new Float64Array(order.length);
  for (let n = 0; n < order.length; n++) sorted[n] = values[order[n]];
  return sorted;
}

/** Pairs of frames with equal windows. */
export interface JoinedAnchors {
  readonly own: Float64Array;
  readonly other: Float64Array;
}

/**
 * All pairs of equal hashes as (own, other) frame pairs. Music that repeats to the sample gives n x m pairs per hash:
 * hashes of that kind are taken in ever smaller shares (by a hash of the hash, the same on both sides) until the budget holds.
 */
export function joinAnchors(own: SortedAnchors, other: SortedAnchors): JoinedAnchors {
  let ordinary = 0;
  const frequent: number[] = new Array(32).fill(0);
  walk(own, other, (a0, a1, b0, b1) => {
    const product = (a1 - a0) * (b1 - b0);
    if (product <= ORDINARY_PRODUCT) ordinary += product;
    else for (let k = 0; k <= rarity(own.hashes[a0]); k++) frequent[k] += product;
  });
  let share = 0;
  while (share < 31 && ordinary + frequent[share] > BUDGET) share++;
  const found = new PairList(ordinary);
  if (ordinary + frequent[share] === 0) return found.pairs();
  walk(own, other, (a0, a1, b0, b1) => {
    const product = (a1 - a0) * (b1 - b0);
    if (product > ORDINARY_PRODUCT && (rarity(own.hashes[a0]) < share || product > BUDGET)) return;
    for (let a = a0; a < a1; a++) {
      for (let b = b0; b < b1; b++) found.push(own.frames[a], other.frames[b]);
    }
  });
  return found.pairs();
}

/** Grows where more come than were expected. */
class PairList {
  #own: Float64Array;
  #other: Float64Array;
  #count = 0;

  constructor(expected: number) {
    this.#own = new Float64Array(expected);
    this.#other = new Float64Array(expected);
  }

  push(own: number, other: number): void {
    if (this.#count === this.#own.length) {
      const size = 2 * this.#count + 1024;
      this.#own = grown(this.#own, size);
      this.#other = grown(this.#other, size);
    }
    this.#own[this.#count] = own;
    this.#other[this.#count++] = other;
  }

  pairs(): JoinedAnchors {
    return { own: this.#own.subarray(0, this.#count), other: this.#other.subarray(0, this.#count) };
  }
}

function grown(values: Float64Array, size: number): Float64Array {
  const larger = new Float64Array(size);
  larger.set(values);
  return larger;
}

/** Number of trailing zero bits of the low hash word: half of all hashes have >= 1, a quarter >= 2 … */
function rarity(hash: number): number {
  const low = (hash % 0x100000000) | 0;
  return low === 0 ? 31 : Math.min(31, 31 - Math.clz32(low & -low));
}

function walk(
  a: SortedAnchors,
  b: SortedAnchors,
  visit: (a0: number, a1: number, b0: number, b1: number) => void,
): void {
  let i = 0;
  let j = 0;
  while (i < a.hashes.length && j < b.hashes.length) {
    const hash = a.hashes[i];
    if (hash < b.hashes[j]) i++;
    else if (hash > b.hashes[j]) j++;
    else {
      let iEnd = i + 1;
      let jEnd = j + 1;
      while (iEnd < a.hashes.length && a.hashes[iEnd] === hash) iEnd++;
      while (jEnd < b.hashes.length && b.hashes[jEnd] === hash) jEnd++;
      visit(i, iEnd, j, jEnd);
      i = iEnd;
      j = jEnd;
    }
  }
}

/** Matches of several channel pairs together, equal frame pairs merged into one with more weight. */
export function mergeMatches(lists: readonly JoinedAnchors[]): Matches {
  const own = joined(lists.map((list) => list.own));
  const other = joined(lists.map((list) => list.other));
  const order = orderOf(own, other);
  const weight = new Float64Array(own.length);
  const [mergedOwn, mergedOther] = [new Float64Array(own.length), new Float64Array(own.length)];
  let count = 0;
  for (const n of order) {
    const last = count - 1;
    if (last >= 0 && mergedOwn[last] === own[n] && mergedOther[last] === other[n]) weight[last]++;
    else {
      mergedOwn[count] = own[n];
      mergedOther[count] = other[n];
      weight[count++] = 1;
    }
  }
  return {
    own: mergedOwn.subarray(0, count),
    other: mergedOther.subarray(0, count),
    weight: weight.subarray(0, count),
  };
}

function joined(parts: readonly Float64Array[]): Float64Array {
  const all = new Float64Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

/**
 * One partner for each channel, the strongest first; on equal counts (a mono recording on both channels) like numbers
 * go together. Pairs with less than a fiftieth of the strongest evidence are chance or spill and left out.
 */
export function chooseChannelPairs(counted: readonly { pair: ChannelPair; count: number }[]): ChannelPair[] {
  const strongest = Math.max(0, ...counted.map((c) => c.count));
  const sorted = counted
    .filter((c) => c.count > 0 && c.count * 50 >= strongest)
    .sort((a, b) => {
      const alike = (c: { pair: ChannelPair }) => (c.pair[0] === c.pair[1] ? 0 : 1);
      const nearlyEqual = Math.abs(a.count - b.count) * 20 <= Math.max(a.count, b.count);
      return nearlyEqual ? alike(a) - alike(b) || b.count - a.count : b.count - a.count;
    });
  const chosen: ChannelPair[] = [];
  for (const { pair } of sorted) {
    if (!chosen.some(([own, other]) => own === pair[0] || other === pair[1])) chosen.push(pair);
  }
  return chosen.sort((a, b) => a[0] - b[0]);
}

// Pairs of equal anchors of two captures, found by a sorted join: no reading, no quadratic search. Says nothing about
// which of them belong together; that is chain.ts.
import type { AnchorList } from '../signal/index.ts';

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
  const order = Array.from(list.hashes.keys()).sort(
    (a, b) => list.hashes[a] - list.hashes[b] || list.frames[a] - list.frames[b],
  );
  return {
    hashes: Float64Array.from(order, (n) => list.hashes[n]),
    frames: Float64Array.from(order, (n) => list.frames[n]),
  };
}

/**
 * All pairs of equal hashes as (own, other) frame pairs. Music that repeats to the sample gives n x m pairs per hash:
 * hashes of that kind are taken in ever smaller shares (by a hash of the hash, the same on both sides) until the budget holds.
 */
export function joinAnchors(own: SortedAnchors, other: SortedAnchors): { own: number[]; other: number[] } {
  let ordinary = 0;
  const frequent: number[] = new Array(32).fill(0);
  walk(own, other, (a0, a1, b0, b1) => {
    const product = (a1 - a0) * (b1 - b0);
    if (product <= ORDINARY_PRODUCT) ordinary += product;
    else for (let k = 0; k <= rarity(own.hashes[a0]); k++) frequent[k] += product;
  });
  let share = 0;
  while (share < 31 && ordinary + frequent[share] > BUDGET) share++;
  const found = { own: [] as number[], other: [] as number[] };
  walk(own, other, (a0, a1, b0, b1) => {
    const product = (a1 - a0) * (b1 - b0);
    if (product > ORDINARY_PRODUCT && (rarity(own.hashes[a0]) < share || product > BUDGET)) return;
    for (let a = a0; a < a1; a++) {
      for (let b = b0; b < b1; b++) {
        found.own.push(own.frames[a]);
        found.other.push(other.frames[b]);
      }
    }
  });
  return found;
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
export function mergeMatches(lists: readonly { own: readonly number[]; other: readonly number[] }[]): Matches {
  const own = lists.flatMap((list) => list.own);
  const other = lists.flatMap((list) => list.other);
  const order = Array.from(own.keys()).sort((a, b) => own[a] - own[b] || other[a] - other[b]);
  const merged = { own: [] as number[], other: [] as number[], weight: [] as number[] };
  for (const n of order) {
    const last = merged.own.length - 1;
    if (last >= 0 && merged.own[last] === own[n] && merged.other[last] === other[n]) merged.weight[last]++;
    else {
      merged.own.push(own[n]);
      merged.other.push(other[n]);
      merged.weight.push(1);
    }
  }
  return {
    own: Float64Array.from(merged.own),
    other: Float64Array.from(merged.other),
    weight: Float64Array.from(merged.weight),
  };
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

// From matching windows to stretches of one constant offset: the heaviest chain of matches that goes forward in both
// captures, where a change of offset has to earn its keep. False matches and repeats of the music fall out.
import type { Matches } from './match.ts';

/** Frames first..last (of windows' last samples) of the own capture lie at other = own + offset. */
export interface Run {
  readonly first: number;
  readonly last: number;
  readonly offset: number;
  /** matched windows, counted once per channel pair */
  readonly weight: number;
  /** own frames of the matched windows, ascending */
  readonly frames: readonly number[];
}

/** A change of offset costs this many windows: two false ones never beat a true stretch. */
const CHANGE_COST = 3;

/**
 * O(n log n): best score ending in each match = weight + the larger of (best so far with the same offset) and (best so
 * far anywhere earlier in the other capture, less the cost of a change).
 */
export function chainMatches(matches: Matches): Run[] {
  const n = matches.own.length;
  if (n === 0) return [];
  const previous = new Int32Array(n).fill(-1);
  const score = new Float64Array(n);
  const sameOffset = new Map<number, number>();
  const earlier = new PrefixBest(matches.other);
  for (let from = 0; from < n; ) {
    let to = from;
    while (to < n && matches.own[to] === matches.own[from]) scoreMatch(to++);
    for (let m = from; m < to; m++) {
      earlier.add(matches.other[m], score[m], m);
      const offset = matches.other[m] - matches.own[m];
      const before = sameOffset.get(offset);
      if (before === undefined || score[m] >= score[before]) sameOffset.set(offset, m);
    }
    from = to;
  }
  function scoreMatch(m: number): void {
    const same = sameOffset.get(matches.other[m] - matches.own[m]);
    const any = earlier.bestBelow(matches.other[m]);
    let best = 0;
    if (same !== undefined) {
      best = score[same];
      previous[m] = same;
    }
    if (any >= 0 && score[any] - CHANGE_COST > best) {
      best = score[any] - CHANGE_COST;
      previous[m] = any;
    }
    score[m] = best + matches.weight[m];
  }
  return runsOf(matches, previous, heaviest(score));
}

function heaviest(score: Float64Array): number {
  let best = 0;
  for (let m = 1; m < score.length; m++) if (score[m] > score[best]) best = m;
  return best;
}

function runsOf(matches: Matches, previous: Int32Array, last: number): Run[] {
  const path: number[] = [];
  for (let m = last; m >= 0; m = previous[m]) path.push(m);
  path.reverse();
  const runs: { first: number; last: number; offset: number; weight: number; frames: number[] }[] = [];
  for (const m of path) {
    const own = matches.own[m];
    const offset = matches.other[m] - own;
    const run = runs.at(-1);
    if (run && run.offset === offset) {
      run.last = own;
      run.weight += matches.weight[m];
      run.frames.push(own);
    } else runs.push({ first: own, last: own, offset, weight: matches.weight[m], frames: [own] });
  }
  return runs;
}

/** Largest score among all matches with a smaller position, by a binary indexed tree over the positions' ranks. */
class PrefixBest {
  readonly #positions: Float64Array;
  readonly #best: Float64Array;
  readonly #index: Int32Array;

  constructor(positions: Float64Array) {
    this.#positions = positions.slice().sort();
    this.#best = new Float64Array(this.#positions.length + 1).fill(Number.NEGATIVE_INFINITY);
    this.#index = new Int32Array(this.#positions.length + 1).fill(-1);
  }

  add(position: number, score: number, index: number): void {
    for (let r = this.#rank(position) + 1; r < this.#best.length; r += r & -r) {
      if (score <= this.#best[r]) continue;
      this.#best[r] = score;
      this.#index[r] = index;
    }
  }

  /** -1 when nothing lies below. */
  bestBelow(position: number): number {
    let best = Number.NEGATIVE_INFINITY;
    let index = -1;
    for (let r = this.#rank(position); r > 0; r -= r & -r) {
      if (this.#best[r] > best) {
        best = this.#best[r];
        index = this.#index[r];
      }
    }
    return index;
  }

  #rank(position: number): number {
    let low = 0;
    let high = this.#positions.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#positions[middle] < position) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}

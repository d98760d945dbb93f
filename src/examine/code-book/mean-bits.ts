// Which codes lie midway between their neighbours, as bits: coarse codes do so everywhere, and words of 32 are looked through and
// counted as fast as one. In any rounding, and in each by itself: a deck rounds one way, so a row of its means keeps one rounding, and
// the sound's own means are rounded as they come. Not for judging rows (code-lattice.ts).

/** By how a deck may round the mean of two codes. To the nearest is upwards: half a step is all that there is to round. */
export const ROUNDINGS = ['down', 'up', 'toward zero'] as const;

export interface MeanBits {
  readonly any: BitSet;
  /** in the order of ROUNDINGS */
  readonly one: readonly BitSet[];
  /** in no rounding at all */
  readonly exact: BitSet;
}

export class BitSet {
  readonly length: number;
  /** one more than needed, empty */
  readonly words: Int32Array;
  /** how many there are before each word */
  readonly #before: Int32Array;

  constructor(length: number, words: Int32Array) {
    this.length = length;
    this.words = words;
    this.#before = new Int32Array(words.length);
    for (let w = 1; w < words.length; w++) this.#before[w] = this.#before[w - 1] + onesOf(words[w - 1]);
  }

  /** 0 or 1. */
  at(i: number): number {
    return (this.words[i >> 5] >>> (i & 31)) & 1;
  }

  /** In from..to - 1. */
  count(from: number, to: number): number {
    return this.#upTo(to) - this.#upTo(from);
  }

  /** How many places in from..to - 1 are set, and so are all those at the given distances after them. */
  together(from: number, to: number, ...distances: readonly number[]): number {
    let sum = 0;
    for (let w = from >> 5; w << 5 < to; w++) {
      let all = this.words[w];
      if (w === from >> 5) all &= -1 << (from & 31);
      if (to - (w << 5) < 32) all &= (1 << (to & 31)) - 1;
      for (let k = 0; k < distances.length && all !== 0; k++) all &= this.#wordAt((w << 5) + distances[k]);
      sum += onesOf(all);
    }
    return sum;
  }

  /** 32 places from `at` on. */
  #wordAt(at: number): number {
    const [word, part] = [at >> 5, at & 31];
    return part === 0 ? this.words[word] : (this.words[word] >>> part) | (this.words[word + 1] << (32 - part));
  }

  #upTo(end: number): number {
    const word = end >> 5;
    return this.#before[word] + onesOf(this.words[word] & ((1 << (end & 31)) - 1));
  }
}

/** The first and the last code have one neighbour and are none. Any mean is one that concealment/hits.ts would call a hit. */
export function meanBits(codes: Int32Array): MeanBits {
  const size = (codes.length >> 5) + 2;
  const [any, down, up, toZero, exact] = Array.from({ length: 5 }, () => new Int32Array(size));
  let [before, at] = [codes[0], codes[1]];
  for (let i = 1; i + 1 < codes.length; ) {
    const word = i >> 5;
    let [anyBits, downBits, upBits, negative] = [0, 0, 0, 0];
    for (const end = Math.min((word + 1) << 5, codes.length - 1); i < end; i++) {
      const after = codes[i + 1];
      const sum = before + after;
      const second = 2 * at - sum;
      const bit = 1 << (i & 31);
      // Where a line crosses zero, rounding toward zero is uneven by two.
      const reach = 1 + ((before ^ after) >>> 31);
      if (second >= -reach && second <= reach) {
        anyBits |= bit;
        if (second === 0 || second === -1) downBits |= bit;
        if (second === 0 || second === 1) upBits |= bit;
        if (sum < 0) negative |= bit;
      }
      before = at;
      at = after;
    }
    any[word] = anyBits;
    down[word] = downBits;
    up[word] = upBits;
    toZero[word] = (upBits & negative) | (downBits & ~negative);
    exact[word] = downBits & upBits;
  }
  const set = (words: Int32Array) => new BitSet(codes.length, words);
  return { any: set(any), one: [set(down), set(up), set(toZero)], exact: set(exact) };
}

function onesOf(word: number): number {
  let x = word - ((word >>> 1) & 0x5555_5555);
  x = (x & 0x3333_3333) + ((x >>> 2) & 0x3333_3333);
  return Math.imul((x + (x >>> 4)) & 0x0f0f_0f0f, 0x0101_0101) >>> 24;
}

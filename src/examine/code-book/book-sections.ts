// One channel in sections of fixed frames: what a companding law may have made is counted whole, the rest only at the beginning. Linear sound of full word length leaves every book at once, so that the dear counting is spent where it can decide; and a
// recording that changes on the way is noticed wherever it changes. Not for naming a law.
import { CodeSetSession, type ValueCounts } from '../../signal/index.ts';
import { BookDoubt } from './book-doubt.ts';

/** The part of a section that is decided at once. */
const PART = 8192;
const SECTION = 4 * PART;
/** frames that decide whether a part is counted whole */
const HEAD = 1024;
/** samples outside every book that are kept where each value must be looked up */
const MOST_WIDE = 8192;
/** and of what a law may have made; beyond that only the heads */
const MOST_WHOLE = 16_384;

export interface StretchTally {
  readonly frames: number;
  /** of the first and the last frame; meaningless where there is none */
  readonly first: number;
  readonly last: number;
}

const NONE: StretchTally = { frames: 0, first: 0, last: 0 };

interface Group {
  set: CodeSetSession;
  tally: StretchTally;
}

export interface PossibleCounts {
  readonly counts: ValueCounts;
  readonly tally: StretchTally;
}

/** State with a life: push all samples in order, then finish once. Results do not depend on how the samples are cut. */
export class BookSections {
  /** parts that no law made, and what follows them in their section */
  linear = NONE;
  readonly #bits: number;
  readonly #limit: number;
  readonly #doubt: BookDoubt;
  readonly #head = new Int32Array(HEAD);
  readonly #linearSet: CodeSetSession;
  /** by the highest shift of a law that may have made them: what is quiet fits many a law, and must not hide what fits one */
  readonly #groups = new Map<number, Group>();
  #frame = 0;
  /** of the part at hand; undefined when no law made it, and then until the section ends */
  #group: Group | undefined;
  #isLinear = false;

  /** `limit`: distinct values beyond which no law can be meant. */
  constructor(bits: number, limit: number) {
    this.#bits = bits;
    this.#limit = limit;
    this.#doubt = new BookDoubt(bits);
    this.#linearSet = new CodeSetSession(bits);
  }

  push(plane: Int32Array): void {
    for (let at = 0; at < plane.length; ) {
      const within = this.#frame % PART;
      const take = Math.min((within < HEAD ? HEAD : PART) - within, plane.length - at);
      this.#take(plane.subarray(at, at + take), within);
      at += take;
      this.#frame += take;
      if (this.#frame % SECTION === 0) this.#isLinear = false;
    }
  }

  /** A last head that is not complete decides as it is. */
  finish(): void {
    const within = this.#frame % PART;
    if (within < HEAD && within > 0 && !this.#isLinear) this.#decide(within, this.#frame - within);
  }

  /** What a law may have made, in groups of which each may have been made by another. */
  possible(): PossibleCounts[] {
    return [...this.#groups.values()].flatMap(({ set, tally }) => {
      const counts = set.finish();
      return counts ? [{ counts, tally }] : [];
    });
  }

  /** What was counted of the others. */
  linearCounts(): ValueCounts {
    // So few values that they are never given up.
    return this.#linearSet.finish() as ValueCounts;
  }

  #take(samples: Int32Array, within: number): void {
    if (this.#isLinear) this.#passLinear(samples);
    else if (within >= HEAD) this.#countPossible(samples, this.#frame, false);
    else {
      this.#head.set(samples, within);
      if (within + samples.length === HEAD) this.#decide(HEAD, this.#frame + samples.length - HEAD);
    }
  }

  #decide(frames: number, first: number): void {
    const head = this.#head.subarray(0, frames);
    const shift = this.#doubt.shiftOf(head);
    this.#isLinear = shift === undefined;
    this.#group = shift === undefined ? undefined : this.#groupAt(shift);
    if (this.#group) this.#countPossible(head, first, true);
    else {
      this.linear = together(this.linear, stretch(first, frames));
      this.#countLinear(head);
    }
  }

  #countLinear(samples: Int32Array): void {
    if (!this.#linearSet.isWide || this.#linearSet.samples < MOST_WIDE) this.#linearSet.push(samples);
  }

  /** The first part of a section is shown whole where that is cheap: the report draws the values used. */
  #passLinear(samples: Int32Array): void {
    this.linear = together(this.linear, stretch(this.#frame, samples.length));
    if (this.#frame % SECTION < PART && !this.#linearSet.isWide) this.#linearSet.push(samples);
  }

  #groupAt(shift: number): Group {
    let group = this.#groups.get(shift);
    if (!group) {
      group = { set: new CodeSetSession(this.#bits, { limit: this.#limit }), tally: NONE };
      this.#groups.set(shift, group);
    }
    return group;
  }

  #countPossible(samples: Int32Array, first: number, isHead: boolean): void {
    const group = this.#group;
    if (!group) return;
    const { set } = group;
    group.tally = together(group.tally, stretch(first, samples.length));
    if (isHead || !set.isWide || set.samples < MOST_WHOLE) set.push(samples);
    if (!set.gaveUp) return;
    // So many values are no law's: what was thought possible so far was not, and the rest of the tape is judged afresh.
    this.linear = together(this.linear, group.tally);
    this.#countLinear(samples);
    group.tally = NONE;
    group.set = new CodeSetSession(this.#bits, { limit: this.#limit });
    this.#isLinear = true;
  }
}

function stretch(first: number, frames: number): StretchTally {
  return { frames, first, last: first + frames - 1 };
}

function together(a: StretchTally, b: StretchTally): StretchTally {
  if (a.frames === 0) return b;
  if (b.frames === 0) return a;
  return { frames: a.frames + b.frames, first: Math.min(a.first, b.first), last: Math.max(a.last, b.last) };
}

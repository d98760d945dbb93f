// How timecode words follow each other: how many words lie between two by their places, how many by their addresses, and which numbering
// their seconds have. Not for grouping them (sections.ts).
import { type CodeWord, unpackWord } from './code-word.ts';
import { frameNumber, framesPerDay, isAddress, type Numbering } from './time-address.ts';
import type { FoundWord } from './word-finder.ts';
import type { WordList } from './word-list.ts';

/** Words apart for which agreement is agreement: farther ones could be chance or wow. */
const NEAR_WORDS = 8;
/** A place may be off by so much of a word. */
const PLACE_TOLERANCE = 0.15;

const ALL_COUNTS = [24, 25, 30] as const;

/** Frame number of a word; a number the numbering leaves out counts as the next one it has. */
export function numberOf(word: CodeWord, numbering: Numbering): number {
  const { address } = unpackWord(word);
  if (isAddress(address, numbering)) return frameNumber(address, numbering);
  const frames = Math.min(address.frames, numbering.count - 1);
  const isLeftOut = numbering.isDrop && address.seconds === 0 && frames < 2 && address.minutes % 10 !== 0;
  return frameNumber({ ...address, frames: isLeftOut ? 2 : frames }, numbering);
}

/** Words from `a` to the later `b` by their places; not whole where they do not stand on one even row. */
export function wordsBetween(a: FoundWord, b: FoundWord): number {
  const length = (a.end - a.start + b.end - b.start) / 2;
  return (b.start - a.start) / length;
}

/** Frames from `a` to `b` by their addresses, the shorter way round midnight. */
export function framesBetween(a: CodeWord, b: CodeWord, numbering: Numbering): number {
  const day = framesPerDay(numbering);
  const ahead = (((numberOf(b, numbering) - numberOf(a, numbering)) % day) + day) % day;
  return ahead > day / 2 ? ahead - day : ahead;
}

/** Near neighbours that confirm each other: the addresses count on as far as the places do, or stand still in the next word. */
export function confirmEachOther(a: FoundWord, b: FoundWord, numbering: Numbering): boolean {
  if (a.isReverse !== b.isReverse) return false;
  const words = wordsBetween(a, b);
  const whole = Math.round(words);
  if (whole < 1 || whole > NEAR_WORDS || Math.abs(words - whole) > PLACE_TOLERANCE) return false;
  const frames = framesBetween(a, b, numbering);
  return frames === (a.isReverse ? -whole : whole) || (frames === 0 && whole === 1);
}

/** Numbering at each place of a recording: what the next turn of a second shows, or the last one seen. */
export class NumberingVotes {
  readonly #places: number[] = [];
  readonly #counts: (24 | 25 | 30)[] = [];
  readonly #fallback: Numbering;

  /** `rateHz` is only asked where no second turns. */
  constructor(words: WordList, rateHz: number) {
    let most = 0;
    let drops = 0;
    let length = 0;
    for (let i = 0; i < words.length; i++) {
      const word = words.at(i);
      const fields = unpackWord(word);
      most = Math.max(most, fields.address.frames);
      drops += fields.isDrop ? 1 : 0;
      length += word.end - word.start;
      const count = i > 0 ? turnOf(words.at(i - 1), word) : undefined;
      if (count) {
        this.#places.push(i);
        this.#counts.push(count);
      }
    }
    const isDrop = 2 * drops > words.length;
    const speed = words.length ? (rateHz * words.length) / length : 25;
    this.#fallback = { count: isDrop || most > 24 ? 30 : nearestCount(speed), isDrop };
  }

  /** whether any second turned */
  get isSeen(): boolean {
    return this.#places.length > 0;
  }

  at(i: number, isDrop: boolean): Numbering {
    if (!this.isSeen) return { ...this.#fallback, isDrop: isDrop && this.#fallback.count === 30 };
    let [from, to] = [0, this.#places.length];
    while (from < to) {
      const middle = (from + to) >> 1;
      if (this.#places[middle] < i) from = middle + 1;
      else to = middle;
    }
    const count = this.#voteNear(Math.min(from, this.#places.length - 1));
    return { count, isDrop: isDrop && count === 30 };
  }

  /** A single vote against both its neighbours is a misread word. */
  #voteNear(k: number): 24 | 25 | 30 {
    const [before, own, after] = [this.#counts[k - 1], this.#counts[k], this.#counts[k + 1]];
    return before !== undefined && before === after ? before : own;
  }
}

/** Frames in the second that turns between two neighbouring words. */
function turnOf(a: FoundWord, b: FoundWord): 24 | 25 | 30 | undefined {
  if (a.isReverse !== b.isReverse || Math.abs(wordsBetween(a, b) - 1) > PLACE_TOLERANCE) return undefined;
  const [from, to] = (a.isReverse ? [b, a] : [a, b]).map((word) => unpackWord(word));
  if (to.address.frames !== 0 && !(to.isDrop && to.address.frames === 2)) return undefined;
  const secondsOfDay = ({ hours, minutes, seconds }: typeof to.address) => (60 * hours + minutes) * 60 + seconds;
  if ((secondsOfDay(from.address) + 1) % 86_400 !== secondsOfDay(to.address)) return undefined;
  return ALL_COUNTS.find((count) => count === from.address.frames + 1);
}

function nearestCount(framesPerSecond: number): 24 | 25 | 30 {
  const distance = (count: number) => Math.abs(Math.log(framesPerSecond / count));
  return ALL_COUNTS.reduce((best, count) => (distance(count) < distance(best) ? count : best));
}

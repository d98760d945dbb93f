// From single timecode words to what a channel says: sections in which the code runs evenly or stands still, and between them jumps, gaps and
// changes of direction. Words that no neighbour confirms are put aside. Not for decoding the signal.
import { hasEvenZeros, POSSIBLE_SHARE, unpackWord, WORD_BITS } from './code-word.ts';
import { confirmEachOther, framesBetween, NumberingVotes, numberOf, wordsBetween } from './succession.ts';
import { framesPerDay, type Numbering, type TimeAddress } from './time-address.ts';
import { cornersOf, fitLine, type MapPoint, type StraightLine } from './time-line.ts';
import type { FoundWord } from './word-finder.ts';
import type { WordList } from './word-list.ts';

export interface TimecodeSection {
  readonly kind: 'running' | 'still';
  readonly isReverse: boolean;
  readonly numbering: Numbering;
  /** places of the outer edges in samples, with fractions; the first word begins at `start` */
  readonly start: number;
  readonly end: number;
  readonly first: TimeAddress;
  readonly last: TimeAddress;
  /** words read, and words between them that were not */
  readonly words: number;
  readonly missing: number;
  /** null for a still section or a single word */
  readonly line: StraightLine | null;
  /** frame numbers run on past midnight, so that the map has no fold */
  readonly map: readonly MapPoint[];
  /** the map's lines pass every word this near, in samples */
  readonly mapTolerance: number;
}

export interface TimecodeGap {
  /** first sample after the last word read and first of the next one */
  readonly start: number;
  readonly end: number;
  readonly missing: number;
}

export interface TimecodeJump {
  /** sample at which the word begins that does not count on */
  readonly at: number;
  readonly from: TimeAddress;
  readonly to: TimeAddress;
  readonly kind: 'jump' | 'turn' | 'stop' | 'start';
  /** frames by which the code differs from one that had run on over the samples between; null where direction or kind changed */
  readonly frames: number | null;
  /** samples without a word before it */
  readonly unreadFrames: number;
}

export interface UserBits {
  /** groups 1 to 8 as hexadecimal digits */
  readonly value: string;
  /** sample at which they are first seen */
  readonly at: number;
}

export interface TimecodeReading {
  readonly words: number;
  /** words that no neighbour confirms: put aside */
  readonly unconfirmed: number;
  readonly sections: readonly TimecodeSection[];
  readonly gaps: readonly TimecodeGap[];
  readonly jumps: readonly TimecodeJump[];
  /** the numbering rests on seconds that were seen to turn */
  readonly isNumberingSeen: boolean;
  /** the first values; `userChanges` counts all changes */
  readonly user: readonly UserBits[];
  readonly userChanges: number;
  /** bits of the first word: 27, 43, 58, 59 */
  readonly flagBits: readonly boolean[];
  readonly isColourFrame: boolean;
  /** share of the words in which the polarity bit makes the zeros even */
  readonly evenShare: number;
  /** how many confirmed pairs random bits in this many words' time would give */
  readonly expectedByChance: number;
}

/** User bits listed; a clock in them changes every word. */
const MOST_USER = 16;
/** Far words may stand off the even row by this share of the distance: transports are not that steady. */
const FAR_TOLERANCE = 0.002;

/** `null` where no two words confirm each other: no timecode. */
export function readTimecode(all: WordList, rateHz: number, frames: number): TimecodeReading | null {
  const votes = new NumberingVotes(all, rateHz);
  const words = confirmedWords(all, votes);
  if (words.length === 0) return null;
  const gaps: TimecodeGap[] = [];
  const jumps: TimecodeJump[] = [];
  const sections = groupWords(words, gaps, jumps);
  const even = words.filter(({ word }) => hasEvenZeros(word)).length;
  const { bits, isColourFrame } = unpackWord(words[0].word);
  return {
    words: words.length,
    unconfirmed: all.length - words.length,
    sections,
    gaps,
    jumps,
    isNumberingSeen: votes.isSeen,
    ...userBitsOf(words),
    flagBits: bits,
    isColourFrame,
    evenShare: even / words.length,
    expectedByChance: chanceOf(words[0].word, frames),
  };
}

interface NumberedWord {
  readonly word: FoundWord;
  readonly numbering: Numbering;
}

function confirmedWords(all: WordList, votes: NumberingVotes): NumberedWord[] {
  const words: NumberedWord[] = [];
  let previous: NumberedWord | undefined;
  let isConfirmed = false;
  for (let i = 0; i < all.length; i++) {
    const word = all.at(i);
    const numbered = { word, numbering: votes.at(i, unpackWord(word).isDrop) };
    const isPair = previous !== undefined && confirmEachOther(previous.word, word, numbered.numbering);
    if (previous && (isPair || isConfirmed)) words.push(previous);
    previous = numbered;
    isConfirmed = isPair;
  }
  if (previous && isConfirmed) words.push(previous);
  return words;
}

/** Random biphase bits: a sync word with possible digits at any bit, either way, and beside it one of three words that would confirm. */
function chanceOf(word: FoundWord, frames: number): number {
  const bits = (frames * WORD_BITS) / (word.end - word.start);
  const single = 2 * bits * 2 ** -16 * POSSIBLE_SHARE;
  return single * 3 * 8 * 2 ** -16 * 2 ** -26;
}

interface OpenSection {
  kind: 'running' | 'still';
  readonly first: NumberedWord;
  last: NumberedWord;
  lastNumber: number;
  words: number;
  missing: number;
  readonly points: MapPoint[];
}

function groupWords(words: readonly NumberedWord[], gaps: TimecodeGap[], jumps: TimecodeJump[]): TimecodeSection[] {
  const sections: TimecodeSection[] = [];
  let open = openWith(words[0]);
  for (const next of words.slice(1)) {
    const follows = takeInto(open, next, gaps);
    if (follows === undefined) continue;
    sections.push(closed(open));
    const between = { at: next.word.start, from: addressIn(open.last), to: addressIn(next) };
    jumps.push({ ...between, ...follows, unreadFrames: Math.max(0, next.word.start - open.last.word.end) });
    open = openWith(next);
    // The word before a standing one is the first that stands.
    if (follows.kind === 'stop') open.kind = 'still';
  }
  sections.push(closed(open));
  return sections;
}

function addressIn({ word }: NumberedWord): TimeAddress {
  return unpackWord(word).address;
}

function openWith(first: NumberedWord): OpenSection {
  const number = numberOf(first.word, first.numbering);
  const points = [{ number, at: placeOf(first.word) }];
  return { kind: 'running', first, last: first, lastNumber: number, words: 1, missing: 0, points };
}

/** Where the frame of a word begins: at its bit 0, which is its later end when played backwards. */
function placeOf({ isReverse, start, end }: FoundWord): number {
  return isReverse ? end : start;
}

/** Takes the word into the section, or says how it breaks off. */
function takeInto(
  open: OpenSection,
  next: NumberedWord,
  gaps: TimecodeGap[],
): Pick<TimecodeJump, 'kind' | 'frames'> | undefined {
  const { word: last } = open.last;
  const { word, numbering } = next;
  const isSameWay = last.isReverse === word.isReverse;
  if (!isSameWay || !isSame(numbering, open.last.numbering)) return { kind: isSameWay ? 'jump' : 'turn', frames: null };
  const words = Math.max(1, Math.round(wordsBetween(last, word)));
  const frames = framesBetween(last, word, numbering);
  const direction = word.isReverse ? -1 : 1;
  const isStill = frames === 0 && words === 1;
  if (isStill && open.words === 1) open.kind = 'still';
  if (isStill !== (open.kind === 'still')) {
    const isStart = open.kind === 'still' && frames === direction * words;
    if (isStill || isStart) return { kind: isStill ? 'stop' : 'start', frames: null };
  }
  const off = frames - direction * words;
  if (!isStill && Math.abs(off) > FAR_TOLERANCE * words) return { kind: 'jump', frames: off };
  const missing = isStill ? 0 : Math.abs(frames) - 1;
  if (missing > 0) gaps.push({ start: last.end, end: word.start, missing });
  open.missing += Math.max(0, missing);
  open.words++;
  open.last = next;
  open.lastNumber += frames;
  open.points.push({ number: open.lastNumber, at: placeOf(word) });
  return undefined;
}

function isSame(a: Numbering, b: Numbering): boolean {
  return a.count === b.count && a.isDrop === b.isDrop;
}

/** Corners kept for a section; the tolerance grows until they are enough. */
const MOST_CORNERS = 1000;

function closed({ kind, first, last, words, missing, points }: OpenSection): TimecodeSection {
  const line = kind === 'running' ? fitLine(points) : null;
  let mapTolerance = Math.max(0.5, 4 * Math.min(line?.residual ?? 0, 1));
  let map = cornersOf(points, mapTolerance);
  while (map.length > MOST_CORNERS) {
    mapTolerance *= 2;
    map = cornersOf(points, mapTolerance);
  }
  // Between two corners the line of all words is better than the two that stand there.
  if (line && map.length === 2)
    map = map.map(({ number }) => ({ number, at: line.at + line.step * (number - line.origin) }));
  return {
    kind,
    isReverse: first.word.isReverse,
    numbering: first.numbering,
    start: first.word.start,
    end: last.word.end,
    first: addressIn(first),
    last: addressIn(last),
    words,
    missing,
    line,
    map,
    mapTolerance,
  };
}

function userBitsOf(words: readonly NumberedWord[]): Pick<TimecodeReading, 'user' | 'userChanges'> {
  const user: UserBits[] = [];
  let [low, high, changes] = [-1, -1, -1];
  for (const { word } of words) {
    if ((word.low & 0xf0f0f0f0) === low && (word.high & 0xf0f0f0f0) === high) continue;
    [low, high] = [word.low & 0xf0f0f0f0, word.high & 0xf0f0f0f0];
    changes++;
    if (user.length < MOST_USER) {
      const value = unpackWord(word)
        .user.map((digit) => digit.toString(16).toUpperCase())
        .join('');
      user.push({ value, at: word.start });
    }
  }
  return { user, userChanges: changes };
}

/** Address of a frame number that may have run past midnight. */
export function withinDay(number: number, numbering: Numbering): number {
  const day = framesPerDay(numbering);
  return ((number % day) + day) % day;
}

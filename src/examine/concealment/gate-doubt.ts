// Whether a silence may be the work of an editor's gate, which cuts what has become quiet and lets through what becomes loud. All
// silences of a gate have one threshold in common, between the sound before and the sound after each of them: mutes have not. Of
// a few silences each is judged by itself: it is no gate's where the sound is as loud at both edges as nearby, nor where
// the same recording stays as quiet for longer and is not cut there. Where most lie in the middle of the sound there is no gate; where the recording is made of
// pieces with silence between them, a few that break off may be such joints. Not for silences of under 20 ms: no gate is as hasty.
import type { Span } from '../../base/index.ts';
import { type LevelTrack, levelOf, PER_OCTAVE } from './level-track.ts';
import { repeatedLengths } from './mute-gap.ts';

/** 18 dB below the loudest nearby is where gates work; above it is the middle of the sound. Own choice. */
const MIDDLE = 3 * PER_OCTAVE;
const NEARBY_WINDOWS = 50;
/** Sound that keeps its level for so long before the silence was not fading below a threshold. */
const STEADY_WINDOWS = 5;
const STEADY = 5;
/** Even sound goes a little beyond the largest of so few windows. */
const SPREAD = 2;
const LONGER_WINDOWS = 5;
/** From so many silences on the common threshold decides: one that explains most of them is a gate's … */
const SEVERAL = 3;
const MOST = 0.8;
/** … and where none explains so many there is no gate. In between each is judged by itself. */
const LEAST = 0.5;
/** No gate waits longer before it closes, looks farther ahead than 0.1 s, or stands within 6 dB of the loudest. Own choice. */
const HOLD_WINDOWS = 15;
const AHEAD_WINDOWS = 6;
const HEADROOM = PER_OCTAVE;
/** Levels are counted in whole eighths of an octave, from every seventh sample. */
const ROUGHLY = 1;

/** A silence, and the largest samples right before and after it, within the time that any gate waits. */
export interface DoubtfulSilence extends Span {
  readonly peakBefore: number;
  readonly peakAfter: number;
}

export class GateDoubt {
  readonly #track: LevelTrack;
  readonly #silences: readonly DoubtfulSilence[];
  /** how many as long the programme has of its own */
  readonly #others: number;
  /** that several of the silences have */
  readonly #lengths: ReadonlySet<number>;
  /** by threshold: how many of the silences a gate would have made */
  #explained: Uint32Array | undefined;
  /** how many of the silences lie in the middle of the sound */
  #inTheMiddle: number | undefined;
  /** longest run of windows at or below a level that touches no silence */
  readonly #longest = new Map<number, number>();

  /** `silences`: all of the channel that a deck or a gate has made. `others`: how many more there are, which begin and end as sound does by itself. */
  constructor(track: LevelTrack, silences: readonly DoubtfulSilence[], others: number) {
    this.#track = track;
    this.#silences = silences;
    this.#others = others;
    this.#lengths = repeatedLengths(silences);
  }

  couldBeGate(silence: DoubtfulSilence): boolean {
    if (this.#silences.length < SEVERAL) return this.#couldBeByItself(silence);
    // No gate stands where most of them would lie.
    this.#inTheMiddle ??= this.#silences.filter((one) => this.#isInTheMiddle(one)).length;
    if (this.#inTheMiddle > LEAST * this.#silences.length) return false;
    const share = this.#shareWith(silence) / this.#silences.length;
    return share >= MOST || ((share >= LEAST || this.#isOneOfPieces(silence)) && this.#couldBeByItself(silence));
  }

  /** A programme made of pieces with silence between them needs no gate, nor does one threshold hold for all of it; losses would come in equal lengths. */
  #isOneOfPieces({ length }: DoubtfulSilence): boolean {
    return this.#others > this.#silences.length && !this.#lengths.has(length);
  }

  /** Of the thresholds that explain the silence, the one that explains most: how many it does. */
  #shareWith(silence: DoubtfulSilence): number {
    this.#explained ??= this.#countExplained();
    const [least, end] = this.#thresholdsOf(silence);
    return largest(this.#explained.subarray(least, end));
  }

  #countExplained(): Uint32Array {
    const explained = new Uint32Array(256);
    for (const silence of this.#silences) {
      const [least, end] = this.#thresholdsOf(silence);
      for (let level = least; level < end; level++) explained[level]++;
    }
    const loudest = largest(this.#track.levels);
    return explained.map((count, level) =>
      count >= LEAST * this.#silences.length &&
      level <= loudest - HEADROOM &&
      this.#longestAtMost(Math.max(0, level - SPREAD)) <= HOLD_WINDOWS
        ? count
        : 0,
    );
  }

  /** From the level that the sound stays below before the silence to the one it rises to soon after it; the end is beyond the last. */
  #thresholdsOf({ start, length, peakBefore, peakAfter }: DoubtfulSilence): readonly [number, number] {
    const { levels, windowFrames } = this.#track;
    const first = Math.ceil((start + length) / windowFrames);
    let most = levelOf(peakAfter);
    for (let i = first; i < first + AHEAD_WINDOWS && levels[i] > 0; i++) most = Math.max(most, levels[i]);
    return [Math.max(1, levelOf(peakBefore) - ROUGHLY), Math.min(255, most + SPREAD)];
  }

  #couldBeByItself(silence: DoubtfulSilence): boolean {
    const { before, after } = this.#beside(silence);
    // Beside an end of the recording nothing speaks against a gate.
    if (before.length === 0 || after.length === 0) return true;
    if (this.#isInTheMiddle(silence)) return false;
    return this.#isOneOfPieces(silence) || !this.#staysQuietElsewhere(edgeOf(silence), before, after);
  }

  #isInTheMiddle(silence: DoubtfulSilence): boolean {
    const { before, after } = this.#beside(silence);
    return (
      before.length > 0 && after.length > 0 && edgeOf(silence) >= Math.max(largest(before), largest(after)) - MIDDLE
    );
  }

  /** The windows nearby, counted outwards from the silence. */
  #beside({ start, length }: DoubtfulSilence): { readonly before: Uint8Array; readonly after: Uint8Array } {
    const { levels, windowFrames } = this.#track;
    const end = Math.floor(start / windowFrames);
    const first = Math.ceil((start + length) / windowFrames);
    return {
      before: levels.subarray(Math.max(0, end - NEARBY_WINDOWS), end).toReversed(),
      after: levels.subarray(first, first + NEARBY_WINDOWS),
    };
  }

  /** `before` and `after` count outwards from the silence. */
  #staysQuietElsewhere(edge: number, before: Uint8Array, after: Uint8Array): boolean {
    const level = Math.max(edge, steadyLevel(before, after));
    const quietFor = Math.max(runAtMost(before, level), runAtMost(after, level));
    return this.#longestAtMost(level) > 2 * quietFor + LONGER_WINDOWS;
  }

  #longestAtMost(level: number): number {
    const known = this.#longest.get(level);
    if (known !== undefined) return known;
    const { levels } = this.#track;
    let longest = 0;
    for (let i = 0; i < levels.length; ) {
      let end = i;
      while (end < levels.length && levels[end] > 0 && levels[end] <= level) end++;
      const touchesSilence = i === 0 || levels[i - 1] === 0 || end === levels.length || levels[end] === 0;
      if (!touchesSilence) longest = Math.max(longest, end - i);
      i = end + 1;
    }
    this.#longest.set(level, longest);
    return longest;
  }
}

function edgeOf({ peakBefore, peakAfter }: DoubtfulSilence): number {
  return Math.min(levelOf(peakBefore), levelOf(peakAfter));
}

/** Level of sound that is even before the silence and goes on so after it: a gate that closed there would close at that level
 * elsewhere. 0 where it is not even. */
function steadyLevel(before: Uint8Array, after: Uint8Array): number {
  const lately = before.subarray(0, STEADY_WINDOWS);
  const isSteady = lately.length === STEADY_WINDOWS && largest(lately) - smallest(lately) <= STEADY;
  return isSteady && after[0] <= largest(lately) + STEADY ? largest(lately) + SPREAD : 0;
}

function runAtMost(outwards: Uint8Array, level: number): number {
  let run = 0;
  while (run < outwards.length && outwards[run] > 0 && outwards[run] <= level) run++;
  return run;
}

function largest(levels: Uint8Array | Uint32Array): number {
  let most = 0;
  for (const level of levels) most = Math.max(most, level);
  return most;
}

function smallest(levels: Uint8Array): number {
  let least = 255;
  for (const level of levels) least = Math.min(least, level);
  return least;
}

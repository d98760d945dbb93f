// Whether a silence may be the work of an editor's gate, which cuts what has become quiet and lets through what becomes loud. It
// is not where the sound is as loud at both edges as nearby, nor where the same recording stays as quiet for longer and
// is not cut there. Not for silences of under 20 ms: no gate is as hasty.
import type { Span } from '../../base/index.ts';
import { type LevelTrack, levelOf, PER_OCTAVE } from './level-track.ts';

/** 18 dB below the loudest nearby is where gates work; above it is the middle of the sound. Own choice. */
const MIDDLE = 3 * PER_OCTAVE;
const NEARBY_WINDOWS = 50;
/** Sound that keeps its level for so long before the silence was not fading below a threshold. */
const STEADY_WINDOWS = 5;
const STEADY = 5;
/** Even sound goes a little beyond the largest of so few windows. */
const SPREAD = 2;
const LONGER_WINDOWS = 5;

/** A silence, and the largest samples right before and after it: beyond its ramps, within the time that any gate waits. */
export interface DoubtfulSilence extends Span {
  readonly peakBefore: number;
  readonly peakAfter: number;
}

export class GateDoubt {
  readonly #track: LevelTrack;
  /** longest run of windows at or below a level that touches no silence */
  readonly #longest = new Map<number, number>();

  constructor(track: LevelTrack) {
    this.#track = track;
  }

  /** `start` and `length` take in the ramps. */
  couldBeGate({ start, length, peakBefore, peakAfter }: DoubtfulSilence): boolean {
    const { levels, windowFrames } = this.#track;
    const last = Math.floor(start / windowFrames) - 1;
    const first = Math.ceil((start + length) / windowFrames);
    // Beside an end of the recording nothing speaks against a gate.
    if (last < 0 || first >= levels.length) return true;
    const before = levels.subarray(Math.max(0, last + 1 - NEARBY_WINDOWS), last + 1).toReversed();
    const after = levels.subarray(first, first + NEARBY_WINDOWS);
    const edge = Math.min(levelOf(peakBefore), levelOf(peakAfter));
    const isInTheMiddle = edge >= Math.max(largest(before), largest(after)) - MIDDLE;
    return !isInTheMiddle && !this.#staysQuietElsewhere(edge, before, after);
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

function largest(levels: Uint8Array): number {
  let most = 0;
  for (const level of levels) most = Math.max(most, level);
  return most;
}

function smallest(levels: Uint8Array): number {
  let least = 255;
  for (const level of levels) least = Math.min(least, level);
  return least;
}

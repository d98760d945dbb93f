// Whether a silence is a mute, by its two edges and the channel it lies in. Not for what the silences of a channel say of each other (muted.ts, gate-doubt.ts).
import type { JsonObject } from '../../base/index.ts';
import type { Edge } from './mute-edges.ts';
import { chanceOfZero, type Gap, HIGH_BREAK, isBrokenOff, isInEvenSound } from './mute-gap.ts';
import { stepOfOlderWord } from './older-word.ts';

/** Beyond a ramp of at most 20 ms sound keeps its level; a fade of more than 50 ms has lost nearly half between the two looks. */
const STEADY = 0.7;
/** In even sound a silence is told from this level on (mean absolute, in steps), one that speech may make by itself from a higher one. */
export const EVEN_STEPS = 0.75;
export const EVEN_PAUSE_STEPS = 1.5;
/** Most findings by chance over the whole channel that one finding may stand for. */
export const MOST_EXPECTED = 0.01;
/** Shorter silences must break off at both ends. */
export const RARE_FRAMES = 24;
/** Sound that is so much louder after a silence than before it is another sound: a stroke, a word, a recording that begins. A pause before it is as likely as a
 * mute there. Own choice: 12 dB. */
export const ATTACK = 4;

export interface MutedSettings extends JsonObject {
  readonly shortestFrames: number;
  /** shortest silence that a neighbour channel may vouch for */
  readonly shortestShared: number;
  /** level on both sides, in quantising steps (mean absolute), below which silence is taken as the programme's own */
  readonly quietSteps: number;
  /** level before a silence that begins abruptly */
  readonly cutSteps: number;
  /** level on both sides where the edge is a ramp, which a natural decay resembles */
  readonly rampSteps: number;
  /** level from which no natural fade is over within 20 ms */
  readonly loudSteps: number;
}

/** What holds for all silences of a channel. */
export interface SilenceRules {
  readonly settings: MutedSettings;
  readonly frames: number;
  readonly bits: number;
  /** no gate closes for less */
  readonly gateFrames: number;
  /** runs of four to seven zeros in the channel */
  readonly shortRuns: number;
}

/** `channel` is 1-based. Undefined where the silence may be chance or the programme's own and no neighbour could tell otherwise. */
export function judgeSilence(channel: number, before: Edge, after: Edge, rules: SilenceRules): Gap | undefined {
  const { quietSteps, shortestShared } = rules.settings;
  // In a longer word what would be the lowest bit of 16 is still next to silence: a fade, a filter that rings.
  const step = Math.max(before.quantum, after.quantum, stepOfOlderWord(rules.bits));
  const start = before.start;
  const length = after.start - start;
  const isLong = length >= shortestShared;
  const evenSteps = length < rules.gateFrames ? EVEN_STEPS : EVEN_PAUSE_STEPS;
  const isBroken =
    isBrokenOff(before, after, length, isLong, step) ||
    (isLong && isInEvenSound(before, after, length, evenSteps * step));
  const expectedByChance = Math.min(1, expectedOf(before, after, isBroken, rules));
  const isAbrupt = before.nearest / step > Math.max(quietSteps, before.level / step / 2);
  // No deck fades out and in again for a silence that is shorter than its fades; but it may fade in after one.
  const isLoud = isLong
    ? isInLoudSound(before, after, step, isAbrupt, rules.settings)
    : isAbrupt && length >= RARE_FRAMES && isHighBreak(before, after, step, rules.settings);
  const gap = { channel, start, length, before, after, step, expectedByChance, isAbrupt };
  if ((isBroken || isLoud) && expectedByChance <= MOST_EXPECTED)
    return { ...gap, told: !isBroken && after.level >= ATTACK * before.level ? 'mute or cut' : 'mute' };
  return isLong ? { ...gap, told: 'nothing' } : undefined;
}

/** How many silences as long the channel has by chance. */
function expectedOf(before: Edge, after: Edge, isBroken: boolean, rules: SilenceRules): number {
  const length = after.start - before.start;
  const byChance = rules.frames * chanceOfZero(before, after) ** length;
  // Where the sound around has no rows of zeros, those it has elsewhere prove nothing; nor where it breaks off.
  const hasRows = Math.max(before.longestZeros, after.longestZeros) >= rules.settings.shortestFrames;
  return isBroken || !hasRows ? byChance : Math.max(byChance, shortRunsExpect(length, rules));
}

/** Sound may well begin out of nothing, but it does not end so: the edge before the silence decides. */
function isInLoudSound(before: Edge, after: Edge, step: number, isAbrupt: boolean, settings: MutedSettings): boolean {
  const { quietSteps, cutSteps, rampSteps, loudSteps } = settings;
  const level = Math.min(before.level, after.level) / step;
  // An editor's gate cuts a decay off when it is nearly over; a deck mutes in the middle of the sound.
  const isCut = isAbrupt && level >= quietSteps && before.level / step >= cutSteps;
  return isCut || level >= loudSteps || (level >= rampSteps && before.steadiness >= STEADY);
}

/** A short silence with a fade behind it: the sound before it breaks off, and is loud on both sides. */
function isHighBreak(before: Edge, after: Edge, step: number, { rampSteps }: MutedSettings): boolean {
  return before.breakHeight >= HIGH_BREAK * step && Math.min(before.level, after.level) / step >= rampSteps;
}

/** Sound with a dead zone around zero makes short silences by itself, each two samples half as often: taken from how many runs of
 * four to seven zeros the channel has. */
export function shortRunsExpect(length: number, { settings, shortRuns }: SilenceRules): number {
  return length >= settings.shortestShared ? 0 : shortRuns * 2 ** (-(length - 4) / 2);
}

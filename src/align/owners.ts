// Who slipped? A step between two captures says only that they differ by some frames. Independent third captures decide;
// without them an exact repeat is the longer side's fault, anything else the shorter side's loss: nothing real is dropped.
import type { FrameSource } from '../base/index.ts';
import type { PairLink, PairStep } from './pair-link.ts';
import type { Slip } from './placement.ts';

/** One way to explain a step: this capture lost (or, negative, repeated) so many frames there. */
interface Side {
  readonly capture: number;
  readonly at: number;
  readonly lost: number;
  readonly slackFrames: number;
}

interface Judged {
  readonly side: Side;
  readonly reason: string;
}

const NEAR_FRAMES = 64;
const MAX_REPEAT_FRAMES = 1 << 18;
const NEIGHBOURHOOD_FRAMES = 2048;
/** A repeat that chance (steady tone, silence) would give more often than this is no evidence of a repeat. */
const REPEAT_CHANCE = 0.01;
/** The rest may be damaged in either copy. */
const MIN_REPEAT_SHARE = 0.25;

/** `passes[c]`: captures of one pass are no independent witnesses for each other. Slips sorted by capture, then frame. */
export async function attributeSlips(
  links: readonly PairLink[],
  sources: readonly FrameSource[],
  passes: readonly (number | string)[],
): Promise<Slip[]> {
  const judged: Judged[] = [];
  for (const link of links) {
    for (const step of link.steps) judged.push(await judge(link, step, links, sources, passes));
  }
  return mergeJudged(judged);
}

function sidesOf(link: PairLink, step: PairStep): [Side, Side] {
  const { slackFrames, change } = step;
  return [
    { capture: link.own, at: step.ownAt, lost: change, slackFrames },
    { capture: link.other, at: step.otherAt, lost: -change, slackFrames },
  ];
}

function isSame(a: Side, b: Side): boolean {
  const room = NEAR_FRAMES + Math.abs(a.lost) + a.slackFrames + b.slackFrames;
  return a.capture === b.capture && a.lost === b.lost && Math.abs(a.at - b.at) <= room;
}

async function judge(
  link: PairLink,
  step: PairStep,
  links: readonly PairLink[],
  sources: readonly FrameSource[],
  passes: readonly (number | string)[],
): Promise<Judged> {
  const [own, other] = sidesOf(link, step);
  const forOwn = witnesses(own, link.other, links, passes);
  const forOther = witnesses(other, link.own, links, passes);
  if (forOwn !== forOther) {
    const side = forOwn > forOther ? own : other;
    const count = Math.max(forOwn, forOther) + 1;
    return {
      side,
      reason: `${count} captures of other passes show the same step at this frame: ${wordsFor(side.lost)}`,
    };
  }
  const longer = step.change > 0 ? other : own;
  const shorter = step.change > 0 ? own : other;
  if (await isRepeat(sources[longer.capture], longer)) {
    const before = Math.abs(longer.lost) === 1 ? 'frame before it' : `${Math.abs(longer.lost)} frames before them`;
    return { side: longer, reason: `the extra ${frameWord(longer.lost)} a repeat of the ${before}` };
  }
  return { side: shorter, reason: 'the other capture has frames here that are missing in this one' };
}

function wordsFor(lost: number): string {
  return lost > 0 ? `${lost} lost here` : `${-lost} too many here`;
}

function frameWord(lost: number): string {
  return Math.abs(lost) === 1 ? 'frame is' : 'frames are';
}

/** Further passes whose link with this capture shows the same step; captures of the accuser's own pass do not count. */
function witnesses(
  side: Side,
  accuser: number,
  links: readonly PairLink[],
  passes: readonly (number | string)[],
): number {
  const seen = new Set<number | string>();
  for (const link of links) {
    const third = link.own === side.capture ? link.other : link.other === side.capture ? link.own : -1;
    if (third < 0 || third === accuser || passes[third] === passes[accuser]) continue;
    if (link.steps.some((step) => sidesOf(link, step).some((s) => isSame(s, side)))) seen.add(passes[third]);
  }
  return seen.size;
}

/**
 * All channels of the longer capture: frames [at, at + L) equal [at - L, at), as far as damage to either copy lets it be
 * seen, and not because everything here repeats at that distance.
 */
async function isRepeat(source: FrameSource, side: Side): Promise<boolean> {
  const length = Math.abs(side.lost);
  if (length > MAX_REPEAT_FRAMES || side.at < length) return false;
  const start = Math.max(0, side.at - length - NEIGHBOURHOOD_FRAMES);
  const { planes, frames } = await source.read(start, side.at - start + length + NEIGHBOURHOOD_FRAMES);
  const at = side.at - start;
  if (at + length > frames) return false;
  let repeated = 0;
  let alike = 0;
  let tried = 0;
  for (let t = length; t < frames; t++) {
    const equal = planes.every((plane) => plane[t] === plane[t - length]);
    if (t >= at && t < at + length) repeated += equal ? 1 : 0;
    else {
      tried++;
      if (equal) alike++;
    }
  }
  return repeated >= length * MIN_REPEAT_SHARE && ((alike + 1) / (tried + 1)) ** repeated < REPEAT_CHANCE;
}

/** The same slip seen by several partners is one slip; the partner that lets the earlier placement fit shortest is sharpest. */
function mergeJudged(judged: readonly Judged[]): Slip[] {
  const merged: Judged[] = [];
  for (const next of judged) {
    const n = merged.findIndex((known) => isSame(known.side, next.side));
    if (n < 0) merged.push(next);
    else if (next.side.at < merged[n].side.at) merged[n] = next;
  }
  return merged
    .map(({ side, reason }) => ({ capture: side.capture, at: side.at, lostFrames: side.lost, reason }))
    .sort((a, b) => a.capture - b.capture || a.at - b.at);
}

// The two edges of a silence: how loud, how rough and how steady the sound on their outer sides is, and how long a ramp it seems
// to need. Only measures; muted.ts judges.
import type { Span } from '../../base/index.ts';

/** The level is taken this far from the edge, beyond most of a ramp. */
const NEAR = 256;
/** A wave passes through zero; within this many frames of an abrupt edge it is somewhere near its height. */
const NEAREST = 32;
/** Sound that is at its level within so many frames was not faded in. */
const AT_ONCE = 8;

/** One frame at the border of a run, with what the sound on its outer side is like. */
export interface Edge extends Span {
  readonly side: 'before' | 'after';
  level: number;
  roughness: number;
  /** level nearer the silence over level farther away: a natural fade is well below one */
  steadiness: number;
  /** share of samples equal to the one before */
  flatShare: number;
  /** the sample next to the silence, and the share of those around that are no larger */
  first: number;
  shareWithinFirst: number;
  /** longest row of zeros */
  longestZeros: number;
  /** largest sample within 10 ms beyond the ramp */
  peak: number;
  /** largest sample within NEAREST of the silence */
  nearest: number;
  /** frames the level seems to need between the silence and its full height */
  ramp: number;
  /** the smallest value but zero: no less than the step there, as a law may begin, or a gain come after it */
  smallest: number;
}

export function edgesOf(run: Span): [Edge, Edge] {
  const blank = {
    length: 1,
    level: 0,
    roughness: 0,
    steadiness: 0,
    flatShare: 0,
    first: 0,
    shareWithinFirst: 1,
    longestZeros: 0,
    peak: 0,
    nearest: 0,
    ramp: 0,
    smallest: 1,
  };
  return [
    { ...blank, start: run.start, side: 'before' },
    { ...blank, start: run.start + run.length, side: 'after' },
  ];
}

/** `peakFrames`: how far `peak` reaches. */
export function measureEdge(edge: Edge, samples: Int32Array, from: number, peakFrames: number): void {
  const isBefore = edge.side === 'before';
  const outer = isBefore ? samples.subarray(0, from) : samples.subarray(from);
  const far = isBefore ? outer.subarray(0, Math.max(0, outer.length - NEAR)) : outer.subarray(NEAR);
  edge.level = meanAbsolute(far);
  edge.smallest = smallest(outer);
  let rough = 0;
  let flat = 0;
  for (let i = 1; i < far.length; i++) {
    rough += Math.abs(far[i] - far[i - 1]);
    if (far[i] === far[i - 1]) flat++;
  }
  edge.flatShare = far.length > 1 ? flat / (far.length - 1) : 1;
  const nearer = meanAbsolute(isBefore ? far.subarray(far.length >> 1) : far.subarray(0, far.length >> 1));
  const farther = meanAbsolute(isBefore ? far.subarray(0, far.length >> 1) : far.subarray(far.length >> 1));
  edge.steadiness = farther > 0 ? nearer / farther : 0;
  edge.roughness = far.length > 1 ? rough / (far.length - 1) : 0;
  edge.nearest = largest(isBefore ? outer.subarray(-NEAREST) : outer.subarray(0, NEAREST));
  edge.longestZeros = longestZeros(outer);
  edge.first = Math.abs(outer[isBefore ? outer.length - 1 : 0]);
  edge.shareWithinFirst = shareWithin(far, edge.first);
  edge.ramp = rampFrames(outer, edge.level, isBefore);
  edge.peak = largest(
    isBefore ? beforeRamp(outer, edge.ramp, peakFrames) : outer.subarray(edge.ramp, edge.ramp + peakFrames),
  );
}

/** A wave reaches its mean level within a fraction of its peaks, so a ramp shows as a late first arrival there; an early one is no
 * ramp, or one that the guard covers. Generous: a frame too many only withholds proof where every read is silent. */
function rampFrames(outer: Int32Array, level: number, isBefore: boolean): number {
  let arrival = 0;
  while (arrival < outer.length && Math.abs(outer[isBefore ? outer.length - 1 - arrival : arrival]) < level) arrival++;
  return arrival < AT_ONCE ? 0 : Math.min(outer.length, Math.ceil(2.5 * arrival));
}

function beforeRamp(outer: Int32Array, ramp: number, frames: number): Int32Array {
  const end = Math.max(0, outer.length - ramp);
  return outer.subarray(Math.max(0, end - frames), end);
}

function smallest(x: Int32Array): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < x.length; i++) if (x[i] !== 0) least = Math.min(least, Math.abs(x[i]));
  return Number.isFinite(least) ? least : 0;
}

function longestZeros(x: Int32Array): number {
  let longest = 0;
  for (let i = 0, run = 0; i < x.length; i++) {
    run = x[i] === 0 ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}

function shareWithin(x: Int32Array, size: number): number {
  let count = 0;
  for (let i = 0; i < x.length; i++) if (Math.abs(x[i]) <= size) count++;
  return (count + 1) / (x.length + 1);
}

function largest(x: Int32Array): number {
  let most = 0;
  for (let i = 0; i < x.length; i++) most = Math.max(most, Math.abs(x[i]));
  return most;
}

function meanAbsolute(x: Int32Array): number {
  let sum = 0;
  for (let i = 0; i < x.length; i++) sum += Math.abs(x[i]);
  return x.length ? sum / x.length : 0;
}

// The two edges of a silence: how loud, how rough and how steady the sound on their outer sides is, and how long a ramp it seems
// to need. Only measures; muted.ts judges.
import type { Span } from '../../base/index.ts';

/** The level is taken this far from the edge, beyond most of a ramp. */
const NEAR = 256;
/** A wave passes through zero; within this many frames of an abrupt edge it is somewhere near its height. */
const NEAREST = 32;
/** Sound that is at its level within so many frames was not faded in. */
const AT_ONCE = 8;
/** A row of zeros so long, broken off so many quanta high, is another mute: sound is measured up to it … */
const NEXT_MUTE = 64;
const BREAK = 4;
/** … and up to one beyond NEAR that is at least half as long as the silence: losses come in equal lengths. */
const ALIKE = 0.5;

/** One frame at the border of a run, with what the sound on its outer side is like. */
export interface Edge extends Span {
  readonly side: 'before' | 'after';
  /** length of the silence */
  readonly silentFrames: number;
  level: number;
  /** the same within NEAR */
  levelNear: number;
  roughness: number;
  /** level nearer the silence over level farther away: a natural fade is well below one */
  steadiness: number;
  /** share of samples equal to the one before */
  flatShare: number;
  /** the sample next to the silence, and the share of those around that are no larger */
  first: number;
  shareWithinFirst: number;
  /** longest row of zeros, and of any equal values (these up to a mute that breaks off) */
  longestZeros: number;
  longestFlat: number;
  /** largest sample within 10 ms, ramp and all */
  peak: number;
  /** largest sample within NEAREST of the silence */
  nearest: number;
  /** frames the level seems to need between the silence and its full height */
  ramp: number;
  /** the smallest value or difference but zero: no less than the step there, as a law may begin, or a gain come after it */
  quantum: number;
  /** the last step before the silence or the first after it, or the one next to it: sound that fades has none but small ones there */
  breakHeight: number;
}

export function edgesOf(run: Span): [Edge, Edge] {
  const blank = {
    length: 1,
    silentFrames: run.length,
    level: 0,
    levelNear: 0,
    roughness: 0,
    steadiness: 0,
    flatShare: 0,
    first: 0,
    shareWithinFirst: 1,
    longestZeros: 0,
    longestFlat: 0,
    peak: 0,
    nearest: 0,
    ramp: 0,
    quantum: 1,
    breakHeight: 0,
  };
  return [
    { ...blank, start: run.start, side: 'before' },
    { ...blank, start: run.start + run.length, side: 'after' },
  ];
}

/** `peakFrames`: how far `peak` reaches. `step`: that of the channel. */
export function measureEdge(edge: Edge, samples: Int32Array, from: number, peakFrames: number, step: number): void {
  const whole = edge.side === 'before' ? samples.slice(0, from).reverse() : samples.subarray(from);
  edge.quantum = Math.max(step, quantumOf(whole));
  // Counted outwards from the silence.
  const upToBreak = whole.subarray(0, nextMute(whole, edge.quantum, Number.POSITIVE_INFINITY));
  const outer = upToBreak.subarray(0, nextMute(upToBreak, edge.quantum, ALIKE * edge.silentFrames));
  const near = Math.min(NEAR, outer.length >> 1);
  const far = outer.subarray(near);
  edge.levelNear = meanAbsolute(outer.subarray(0, near));
  measureFar(edge, far);
  edge.nearest = largest(outer.subarray(0, NEAREST));
  edge.longestZeros = longestRow(outer, true);
  edge.longestFlat = longestRow(upToBreak, false);
  edge.first = Math.abs(outer[0] ?? 0);
  edge.breakHeight = breakHeight(outer[0], outer[1]);
  edge.shareWithinFirst = shareWithin(far, edge.first);
  edge.ramp = rampFrames(outer, edge.level);
  edge.peak = largest(outer.subarray(0, peakFrames));
}

function measureFar(edge: Edge, far: Int32Array): void {
  edge.level = meanAbsolute(far);
  let rough = 0;
  let flat = 0;
  for (let i = 1; i < far.length; i++) {
    rough += Math.abs(far[i] - far[i - 1]);
    if (far[i] === far[i - 1]) flat++;
  }
  edge.flatShare = far.length > 1 ? flat / (far.length - 1) : 1;
  edge.roughness = far.length > 1 ? rough / (far.length - 1) : 0;
  const farther = meanAbsolute(far.subarray(far.length >> 1));
  edge.steadiness = farther > 0 ? meanAbsolute(far.subarray(0, far.length >> 1)) / farther : 0;
}

/** Where a neighbouring mute begins, `alike`: one as long as that is taken for a mute even if it begins softly. */
function nextMute(x: Int32Array, quantum: number, alike: number): number {
  for (let i = 0; i < x.length; i++) {
    if (x[i] !== 0) continue;
    const begin = i;
    while (i < x.length && x[i] === 0) i++;
    const row = i - begin;
    if (begin === 0 || row < NEXT_MUTE) continue;
    const isBroken = breakHeight(x[begin - 1], x[begin - 2]) >= BREAK * quantum;
    if (isBroken || (begin >= NEAR && row >= alike)) return begin;
  }
  return x.length;
}

function breakHeight(last = 0, beforeIt = last): number {
  return Math.max(Math.abs(last), Math.abs(last - beforeIt));
}

/** A wave reaches its mean level within a fraction of its peaks, so a ramp shows as a late first arrival there; an early one is no
 * ramp, or one that the guard covers. Generous: a frame too many only withholds proof where every read is silent. */
function rampFrames(outer: Int32Array, level: number): number {
  let arrival = 0;
  while (arrival < outer.length && Math.abs(outer[arrival]) < level) arrival++;
  return arrival < AT_ONCE ? 0 : Math.min(outer.length, Math.ceil(2.5 * arrival));
}

function quantumOf(x: Int32Array): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0, before = 0; i < x.length; i++) {
    if (x[i] !== 0) least = Math.min(least, Math.abs(x[i]));
    if (x[i] !== before) least = Math.min(least, Math.abs(x[i] - before));
    before = x[i];
  }
  return Number.isFinite(least) ? least : 0;
}

/** Of equal samples, or only of zeros. */
function longestRow(x: Int32Array, isOfZeros: boolean): number {
  let longest = 0;
  for (let i = 0, run = 0; i < x.length; i++) {
    run = i > 0 && x[i] === x[i - 1] ? run + 1 : 1;
    if (!isOfZeros || x[i] === 0) longest = Math.max(longest, run);
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

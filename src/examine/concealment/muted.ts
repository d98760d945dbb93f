// Detector: stretches of exact zeros inside sound that neither fades away before them nor starts from nothing after them.
// Silence of the programme itself (a fade to zero, the recorder running before the tape) is not reported.
import { type Block, type FrameInfo, type JsonObject, rateHz, type Span } from '../../base/index.ts';
import { StepCounter, zeroRuns } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SecondLook } from './second-look.ts';

/** 23 ms at 44.1 kHz: decks ramp in 1-20 ms (formats.md 12, certainty M), so the level beyond a ramp is still in view. */
const CONTEXT = 1024;
/** The level is taken this far from the edge, beyond most of a ramp. */
const NEAR = 256;
/** Own choice: a short ramp is easily taken for none; a long one (up to 20 ms, formats.md 12, certainty M) shows in the level. */
const GUARD_SECONDS = 0.004;
/** A wave passes through zero; within this many frames of an abrupt edge it is somewhere near its height. */
const NEAREST = 32;
/** Sound that is at its level within so many frames was not faded in. */
const AT_ONCE = 8;
/** Beyond a ramp of at most 20 ms sound keeps its level; a fade of more than 50 ms has lost nearly half between the two looks. */
const STEADY = 0.7;
/** Most findings by chance over the whole channel that one finding may stand for. */
const MOST_EXPECTED = 0.01;

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

export const muted: Detector<MutedSettings> = {
  meta: {
    id: 'muted',
    version: 2,
    label: 'Muted stretches',
    needs: 'sound on both sides of the silence',
    settings: { shortestFrames: 4, shortestShared: 64, quietSteps: 8, cutSteps: 12, rampSteps: 48, loudSteps: 200 },
  },
  begin: (info, settings, emit) => new MutedSession(info, settings, emit),
};

interface ZeroRun {
  start: number;
  length: number;
}

class MutedSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: MutedSettings;
  readonly #emit: Emit;
  readonly #runs: ZeroRun[][];
  readonly #open: ZeroRun[];
  readonly #steps: StepCounter[];
  readonly #second: SecondLook<Edge>;

  constructor(info: FrameInfo, settings: MutedSettings, emit: Emit) {
    this.#info = info;
    this.#guardFrames = Math.round(GUARD_SECONDS * rateHz(info.rate));
    this.#settings = settings;
    this.#emit = emit;
    this.#silentFrames = Array.from({ length: info.channels }, () => 0);
    this.#runs = Array.from({ length: info.channels }, () => []);
    this.#open = Array.from({ length: info.channels }, () => ({ start: 0, length: 0 }));
    this.#steps = Array.from({ length: info.channels }, () => new StepCounter());
    this.#second = new SecondLook(info.channels, CONTEXT, (_channel, edge, samples, from) =>
      measureEdge(edge, samples, from),
    );
  }

  push(block: Block): void {
    const statistics = statisticsOf(block);
    for (let c = 0; c < this.#runs.length; c++) {
      const plane = block.planes[c];
      this.#steps[c].add(statistics[c]);
      const open = this.#open[c];
      if (open.length > 0 && plane.length > 0 && plane[0] !== 0) this.#close(c);
      if (statistics[c].zeros === 0) continue;
      zeroRuns(plane, this.#settings.shortestFrames, (start, end) => {
        if (open.length === 0) open.start = block.start + start;
        open.length += end - start;
        if (end < plane.length) this.#close(c);
      });
    }
  }

  finish(): readonly Span[] {
    const spans: Span[] = [];
    for (let c = 0; c < this.#runs.length; c++) {
      // A run that reaches the end has no sound after it: not a mute that can be told from the programme's end.
      this.#open[c].length = 0;
      const edges = this.#worthALook(c).flatMap(edgesOf);
      for (const span of this.#second.plan(c, edges)) spans.push(span);
      this.#edges.push(edges);
    }
    return spans;
  }

  readonly #edges: Edge[][] = [];
  readonly #silentFrames: number[];
  /** runs of four to seven zeros in each channel */
  readonly #shortRuns: number[] = [];
  /** how far a ramp may at least reach beyond what its level shows */
  readonly #guardFrames: number;

  look(block: Block): void {
    this.#second.look(block);
  }

  finishLook(): void {
    this.#second.finish();
    const clear: Gap[] = [];
    const quiet: Gap[] = [];
    for (const [c, edges] of this.#edges.entries()) {
      const step = 2 ** this.#steps[c].stepExponent(0.98);
      for (let i = 0; i + 1 < edges.length; i += 2) {
        const gap = this.#judge(c, edges[i], edges[i + 1], step);
        if (gap) (gap.isClear ? clear : quiet).push(gap);
      }
    }
    for (const gap of clear) this.#report(gap);
    // A deck mutes all channels together: what is too quiet to tell by itself is told by its loud neighbour.
    for (const gap of quiet) {
      const witness = clear.find((other) => other.channel !== gap.channel && isSameGap(gap, other));
      if (witness) this.#report(gap, witness);
    }
    for (let c = 0; c < this.#edges.length; c++) this.#answer(c + 1);
  }

  #answer(channel: number): void {
    const { shortestFrames, cutSteps, rampSteps } = this.#settings;
    this.#emit.verdict({
      channel,
      question: 'muted-seen',
      answer: this.#silentFrames[channel - 1],
      confidence: 0.99,
      detectionLimit:
        `a silence is told from the programme's own where the sound before it is above ${cutSteps} steps and breaks off, ` +
        `or above ${rampSteps} steps, steady, and fades within about 20 ms; at least ${shortestFrames} samples`,
      evidence: { unit: 'silent samples' },
    });
  }

  #close(c: number): void {
    const { start, length } = this.#open[c];
    if (start > 0 && length >= this.#settings.shortestFrames) this.#runs[c].push({ start, length });
    this.#open[c].length = 0;
  }

  /** Undefined where the silence may be chance or the programme's own and no neighbour could tell otherwise. */
  #judge(c: number, before: Edge, after: Edge, finest: number): Gap | undefined {
    const step = Math.max(finest, before.smallest, after.smallest);
    const start = before.start;
    const length = after.start - start;
    const level = Math.min(before.level, after.level) / step;
    // A sample of such a level is zero by chance about once in 2.5 levels; a wave passes zero, it does not stay there.
    const rough = Math.min(before.roughness, after.roughness) / step;
    const chance = Math.max(before.flatShare, after.flatShare, Math.min(0.9, 0.4 / Math.max(0.4, rough)));
    const expectedByChance = Math.min(
      1,
      Math.max(this.#info.frames * chance ** length, this.#shortRunsExpect(c, length)),
    );
    // Sound may well begin out of nothing, but it does not end so: the edge before the silence decides.
    const isAbrupt = before.nearest / step > Math.max(this.#settings.quietSteps, before.level / step / 2);
    const { quietSteps, cutSteps, rampSteps, loudSteps } = this.#settings;
    // An editor's gate cuts a decay off when it is nearly over; a deck mutes in the middle of the sound.
    const isCut = isAbrupt && level >= quietSteps && before.level / step >= cutSteps;
    // No deck fades out and in again for a silence that is shorter than its fades.
    const isLong = length >= this.#settings.shortestShared;
    const isRamped = isLong && (level >= loudSteps || (level >= rampSteps && before.steadiness >= STEADY));
    const isLoud = isCut || isRamped;
    const gap = { channel: c + 1, start, length, before, after, step, expectedByChance, isAbrupt };
    if (isLoud && expectedByChance <= MOST_EXPECTED) return { ...gap, isClear: true };
    return length >= this.#settings.shortestShared ? { ...gap, isClear: false } : undefined;
  }

  /** Sound with a dead zone around zero makes short silences by itself, each two samples half as often: taken from how many runs of
   * four to seven zeros the channel has. */
  #shortRunsExpect(c: number, length: number): number {
    return length >= this.#settings.shortestShared ? 0 : this.#shortRuns[c] * 2 ** (-(length - 4) / 2);
  }

  /** Noise of the lowest bits has short runs by the thousand, all of them explained by their number. */
  #worthALook(c: number): ZeroRun[] {
    this.#shortRuns[c] = this.#runs[c].reduce((count, run) => (run.length < 8 ? count + 1 : count), 0);
    return this.#runs[c].filter(({ length }) => this.#shortRunsExpect(c, length) <= MOST_EXPECTED);
  }

  #report({ channel, start, length, before, after, step, expectedByChance, isAbrupt }: Gap, witness?: Gap): void {
    const rampBefore = isAbrupt ? 0 : before.ramp;
    this.#silentFrames[channel - 1] += length;
    this.#emit.finding({
      detector: 'muted',
      version: muted.meta.version,
      kind: 'muted',
      channels: [channel],
      start: start - rampBefore,
      length: rampBefore + length + after.ramp,
      confidence: witness ? 0.95 : isAbrupt ? 0.999 : 0.99,
      expectedByChance: witness ? witness.expectedByChance : expectedByChance,
      measured: length,
      expected: null,
      unit: 'samples',
      detail: {
        silentFrom: start,
        silentFrames: length,
        rampBeforeFrames: rampBefore,
        rampAfterFrames: after.ramp,
        guardBeforeFrames: isAbrupt ? 0 : Math.max(before.ramp, this.#guardFrames),
        guardAfterFrames: Math.max(after.ramp, this.#guardFrames),
        levelBeforeSteps: Math.round(before.level / step),
        levelAfterSteps: Math.round(after.level / step),
        ...(witness ? { togetherWithChannel: witness.channel } : {}),
      },
    });
  }
}

/** A silence between two edges. */
interface Gap extends Span {
  readonly channel: number;
  readonly before: Edge;
  readonly after: Edge;
  readonly step: number;
  readonly expectedByChance: number;
  readonly isAbrupt: boolean;
  /** can be told by itself */
  readonly isClear: boolean;
}

/** Zeros of the sound itself may lengthen a silence by a few samples at either end. */
const EDGE_SLACK = 8;

/** Quiet sound rounds to zero along most of a ramp, so the ramps of the clear gap are slack for the quiet one. */
function isSameGap(quiet: Gap, clear: Gap): boolean {
  const atStart = Math.abs(quiet.start - clear.start);
  const atEnd = Math.abs(quiet.start + quiet.length - clear.start - clear.length);
  const rampBefore = clear.isAbrupt ? 0 : clear.before.ramp;
  return atStart <= Math.max(EDGE_SLACK, rampBefore) && atEnd <= Math.max(EDGE_SLACK, clear.after.ramp);
}

/** One frame at the border of a run, with what the sound on its outer side is like. */
interface Edge extends Span {
  readonly side: 'before' | 'after';
  level: number;
  roughness: number;
  /** level nearer the silence over level farther away: a natural fade is well below one */
  steadiness: number;
  /** share of samples equal to the one before */
  flatShare: number;
  /** largest sample within NEAREST of the silence */
  nearest: number;
  /** frames the level seems to need between the silence and its full height */
  ramp: number;
  /** the smallest value but zero: no less than the step there, as a law may begin, or a gain come after it */
  smallest: number;
}

function edgesOf(run: ZeroRun): [Edge, Edge] {
  const blank = { length: 1, level: 0, roughness: 0, steadiness: 0, flatShare: 0, nearest: 0, ramp: 0, smallest: 1 };
  return [
    { ...blank, start: run.start, side: 'before' },
    { ...blank, start: run.start + run.length, side: 'after' },
  ];
}

function measureEdge(edge: Edge, samples: Int32Array, from: number): void {
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
  edge.ramp = rampFrames(outer, edge.level, isBefore);
}

function smallest(x: Int32Array): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < x.length; i++) if (x[i] !== 0) least = Math.min(least, Math.abs(x[i]));
  return Number.isFinite(least) ? least : 0;
}

/** A wave reaches its mean level within a fraction of its peaks, so a ramp shows as a late first arrival there; an early one is no
 * ramp, or one that the guard covers. Generous: a frame too many only withholds proof where every read is silent. */
function rampFrames(outer: Int32Array, level: number, isBefore: boolean): number {
  let arrival = 0;
  while (arrival < outer.length && Math.abs(outer[isBefore ? outer.length - 1 - arrival : arrival]) < level) arrival++;
  return arrival < AT_ONCE ? 0 : Math.min(outer.length, Math.ceil(2.5 * arrival));
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

// Detector: stretches of exact zeros inside sound that neither fades away before them nor starts from nothing after them.
// Silence of the programme itself (a fade to zero, the recorder running before the tape) is not reported.
import { type Block, type FrameInfo, type JsonObject, rateHz, type Span } from '../../base/index.ts';
import { StepCounter, zeroRuns } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { GateDoubt } from './gate-doubt.ts';
import { LevelTrack } from './level-track.ts';
import { type Edge, edgesOf, measureEdge } from './mute-edges.ts';
import { SecondLook } from './second-look.ts';

/** 23 ms at 44.1 kHz: decks ramp in 1-20 ms (formats.md 12, certainty M), so the level beyond a ramp is still in view. */
const CONTEXT = 1024;
/** Own choice: a short ramp is easily taken for none; a long one (up to 20 ms, formats.md 12, certainty M) shows in the level. */
const GUARD_SECONDS = 0.004;
/** Beyond a ramp of at most 20 ms sound keeps its level; a fade of more than 50 ms has lost nearly half between the two looks. */
const STEADY = 0.7;
/** In even sound a silence is told from this level on (mean absolute, in steps) … */
const EVEN_STEPS = 1.5;
const EVEN = 0.5;
/** … when it is so many times as long as any row of zeros within 1024 frames. Own choice. */
const ZERO_SHARE = 8;
/** Most findings by chance over the whole channel that one finding may stand for. */
const MOST_EXPECTED = 0.01;
/** … and how many may be expected from the short rows of the whole channel for one to get a second look. */
const WORTH_A_LOOK = 4;
/** Whoever cuts by hand or by program likes to cut where the wave crosses zero; a deck does not choose. Both edges of a mute lie so near to
 * zero by chance once in so many. */
const ZERO_CROSSINGS = 0.005;
/** A gate waits longer before it closes: whoever reads here reads below its threshold. Own choice. */
const PEAK_SECONDS = 0.01;
/** No editor's gate closes for less. Own choice. */
const GATE_SECONDS = 0.02;

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
    version: 3,
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
  readonly #tracks: LevelTrack[];
  readonly #second: SecondLook<Edge>;

  constructor(info: FrameInfo, settings: MutedSettings, emit: Emit) {
    this.#info = info;
    this.#guardFrames = Math.round(GUARD_SECONDS * rateHz(info.rate));
    this.#gateFrames = Math.round(GATE_SECONDS * rateHz(info.rate));
    this.#settings = settings;
    this.#emit = emit;
    this.#doubtful = Array.from({ length: info.channels }, () => 0);
    this.#silentFrames = Array.from({ length: info.channels }, () => 0);
    this.#runs = Array.from({ length: info.channels }, () => []);
    this.#open = Array.from({ length: info.channels }, () => ({ start: 0, length: 0 }));
    this.#steps = Array.from({ length: info.channels }, () => new StepCounter());
    this.#tracks = Array.from({ length: info.channels }, () => new LevelTrack(rateHz(info.rate)));
    this.#second = new SecondLook(info.channels, CONTEXT, (_channel, edge, samples, from) =>
      measureEdge(edge, samples, from, Math.round(PEAK_SECONDS * rateHz(info.rate))),
    );
  }

  push(block: Block): void {
    const statistics = statisticsOf(block);
    for (let c = 0; c < this.#runs.length; c++) {
      const plane = block.planes[c];
      this.#steps[c].add(statistics[c]);
      this.#tracks[c].push(plane);
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
  /** silences that a deck or an editor may have made */
  readonly #doubtful: number[];
  /** runs of four to seven zeros in each channel */
  readonly #shortRuns: number[] = [];
  /** how far a ramp may at least reach beyond what its level shows */
  readonly #guardFrames: number;
  readonly #gateFrames: number;

  look(block: Block): void {
    this.#second.look(block);
  }

  finishLook(): void {
    this.#second.finish();
    const gaps = this.#edges.flatMap((edges, c) => this.#gapsOf(c, edges));
    const clear = gaps.filter(({ told }) => told === 'mute');
    for (const gap of gaps) {
      // A deck mutes all channels together: what cannot be told by itself is told by a neighbour.
      const isClear = gap.told === 'mute';
      const witness = isClear
        ? undefined
        : clear.find((other) => other.channel !== gap.channel && isSameGap(gap, other));
      if (isClear || witness) this.#report(gap, witness);
      else if (gap.told === 'mute or cut') this.#reportDoubt(gap);
    }
    for (let c = 0; c < this.#edges.length; c++) this.#answer(c + 1);
  }

  #gapsOf(c: number, edges: readonly Edge[]): Gap[] {
    // In a longer word what would be the lowest bit of 16 is still next to silence: a fade, a filter that rings.
    const step = 2 ** Math.max(this.#steps[c].stepExponent(0.98), this.#info.bits - 16);
    const doubt = new GateDoubt(this.#tracks[c]);
    const gaps: Gap[] = [];
    for (let i = 0; i + 1 < edges.length; i += 2) {
      const gap = this.#judge(c, edges[i], edges[i + 1], step);
      if (!gap) continue;
      const isDoubtful = gap.told === 'mute' && isEditorsWork(gap, doubt, this.#gateFrames);
      gaps.push(isDoubtful ? { ...gap, told: 'mute or cut' } : gap);
    }
    return gaps;
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
        `or above ${rampSteps} steps, steady, and fades within about 20 ms; at least ${shortestFrames} samples; ` +
        `from ${this.#gateFrames} samples on only where the sound is loud at both edges or stays as quiet elsewhere without being cut, as an editor's gate makes the same`,
      evidence: { unit: 'silent samples', muteOrCut: this.#doubtful[channel - 1] },
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
    const hasRows = Math.max(before.longestZeros, after.longestZeros) >= this.#settings.shortestFrames;
    const expectedByChance = Math.min(
      1,
      // Where the sound around has no rows of zeros, those it has elsewhere prove nothing.
      Math.max(this.#info.frames * chance ** length, hasRows ? this.#shortRunsExpect(c, length) : 0),
    );
    // Sound may well begin out of nothing, but it does not end so: the edge before the silence decides.
    const isAbrupt = before.nearest / step > Math.max(this.#settings.quietSteps, before.level / step / 2);
    const { quietSteps, cutSteps, rampSteps, loudSteps } = this.#settings;
    // An editor's gate cuts a decay off when it is nearly over; a deck mutes in the middle of the sound.
    const isCut = isAbrupt && level >= quietSteps && before.level / step >= cutSteps;
    // No deck fades out and in again for a silence that is shorter than its fades.
    const isLong = length >= this.#settings.shortestShared;
    const isRamped = isLong && (level >= loudSteps || (level >= rampSteps && before.steadiness >= STEADY));
    const isTold = isCut || isRamped || (level >= EVEN_STEPS && isInEvenSound(before, after, length));
    const gap = { channel: c + 1, start, length, before, after, step, expectedByChance, isAbrupt };
    if (isTold && expectedByChance <= MOST_EXPECTED) return { ...gap, told: 'mute' };
    return length >= this.#settings.shortestShared ? { ...gap, told: 'nothing' } : undefined;
  }

  /** Sound with a dead zone around zero makes short silences by itself, each two samples half as often: taken from how many runs of
   * four to seven zeros the channel has. */
  #shortRunsExpect(c: number, length: number): number {
    return length >= this.#settings.shortestShared ? 0 : this.#shortRuns[c] * 2 ** (-(length - 4) / 2);
  }

  /** Noise of the lowest bits has short runs by the thousand, all of them explained by their number. */
  #worthALook(c: number): ZeroRun[] {
    this.#shortRuns[c] = this.#runs[c].reduce((count, run) => (run.length < 8 ? count + 1 : count), 0);
    return this.#runs[c].filter(({ length }) => this.#shortRunsExpect(c, length) <= WORTH_A_LOOK);
  }

  /** Not a loss: the document says that nobody can tell from the samples. */
  #reportDoubt({ channel, start, length, before, after, step, expectedByChance }: Gap): void {
    this.#doubtful[channel - 1]++;
    this.#emit.finding({
      detector: 'muted',
      version: muted.meta.version,
      kind: 'silence',
      channels: [channel],
      start,
      length,
      confidence: 0.99,
      expectedByChance,
      measured: length,
      expected: null,
      unit: 'samples',
      detail: {
        cause: "cannot tell a mute from an editor's cut",
        levelBeforeSteps: Math.round(before.level / step),
        levelAfterSteps: Math.round(after.level / step),
      },
    });
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
  /** by itself */
  readonly told: 'mute' | 'mute or cut' | 'nothing';
}

/** The sound has the same level on both sides, keeps it, and shows no rows of zeros that come near the silence: however soft it is,
 * it does not fade there. */
function isInEvenSound(before: Edge, after: Edge, length: number): boolean {
  const isEven = (ratio: number) => ratio >= EVEN && ratio <= 1 / EVEN;
  const rest = Math.max(before.longestZeros, after.longestZeros);
  return (
    isEven(before.steadiness) &&
    isEven(after.steadiness) &&
    isEven(before.level / after.level) &&
    rest <= length / ZERO_SHARE
  );
}

/** The wave leaves zero at the slope it has anyway, not on a ramp. */
function isCutAtZero({ first, roughness }: Edge): boolean {
  return first >= roughness / 4;
}

/** An editor's gate, or a cut where the wave crosses zero. */
function isEditorsWork({ start, length, before, after, isAbrupt }: Gap, doubt: GateDoubt, gateFrames: number): boolean {
  if (length < gateFrames) return false;
  const rampBefore = isAbrupt ? 0 : before.ramp;
  const isAtCrossings =
    isCutAtZero(before) && isCutAtZero(after) && before.shareWithinFirst * after.shareWithinFirst < ZERO_CROSSINGS;
  const silence = { start: start - rampBefore, length: rampBefore + length + after.ramp };
  return isAtCrossings || doubt.couldBeGate({ ...silence, peakBefore: before.peak, peakAfter: after.peak });
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

// Detector: stretches of exact zeros inside sound that breaks off before them and goes on after them as it was.
// Silence of the programme itself (a fade to zero, the recorder running before the tape) is not reported.
import { type Block, type FrameInfo, type JsonObject, rateHz, type Span } from '../../base/index.ts';
import { StepCounter, zeroRuns } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { GateDoubt } from './gate-doubt.ts';
import { LevelTrack } from './level-track.ts';
import { type Edge, edgesOf, measureEdge } from './mute-edges.ts';
import {
  BREAK,
  chanceOfZero,
  doubtful,
  EDGE_SLACK,
  type Gap,
  HIGH_BREAK,
  isAtCrossings,
  isBrokenOff,
  isInEvenSound,
  isSameGap,
  repeatedLengths,
} from './mute-gap.ts';
import { SecondLook } from './second-look.ts';

/** 23 ms at 44.1 kHz: decks ramp in 1-20 ms (formats.md 12, certainty M), so the level beyond a ramp is still in view. */
const CONTEXT = 1024;
/** Own choice: a short ramp is easily taken for none; a long one (up to 20 ms, formats.md 12, certainty M) shows in the level. */
const GUARD_SECONDS = 0.004;
/** Beyond a ramp of at most 20 ms sound keeps its level; a fade of more than 50 ms has lost nearly half between the two looks. */
const STEADY = 0.7;
/** In even sound a silence is told from this level on (mean absolute, in steps), one that speech may make by itself from a higher one. */
const EVEN_STEPS = 0.75;
const EVEN_PAUSE_STEPS = 1.5;
/** Most findings by chance over the whole channel that one finding may stand for. */
const MOST_EXPECTED = 0.01;
/** … and how many may be expected from the short rows of the whole channel for one to get a second look. */
const WORTH_A_LOOK = 4;
/** Runs from this length on get a second look if there are no more of them than one in so many frames, however many shorter ones there
 * are. */
const RARE_FRAMES = 24;
const MOST_OFTEN = 10_000;
/** An editor who cuts at zero crossings does so for at least this share of the silences. */
const MOST_CROSSINGS = 0.5;
/** A gate waits longer before it closes: whoever reads here reads below its threshold. Own choice. */
const PEAK_SECONDS = 0.01;
/** Sound that is so much louder after a silence than before it is another sound: a stroke, a word, a recording that begins. A pause before it is as likely as a
 * mute there. Own choice: 12 dB. */
const ATTACK = 4;
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
    version: 7,
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

function countWithin(runs: readonly ZeroRun[], from: number, end: number): number {
  return runs.reduce((count, { length }) => (length >= from && length < end ? count + 1 : count), 0);
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
    this.#second = new SecondLook(info.channels, CONTEXT, (channel, edge, samples, from) =>
      measureEdge(edge, samples, from, Math.round(PEAK_SECONDS * rateHz(info.rate)), this.#step(channel)),
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
    const lengths = repeatedLengths(clear);
    for (const gap of gaps) {
      // A deck mutes all channels together: what cannot be told by itself is told by a neighbour.
      const isClear = gap.told === 'mute';
      const witness = isClear
        ? undefined
        : clear.find((other) => other.channel !== gap.channel && isSameGap(gap, other));
      if (isClear || witness || this.#hasLengthOf(lengths, gap)) this.#report(gap, witness);
      else if (gap.told === 'mute or cut') this.#reportDoubt(gap);
    }
    for (let c = 0; c < this.#edges.length; c++) this.#answer(c + 1);
  }

  #gapsOf(c: number, edges: readonly Edge[]): Gap[] {
    const gaps: Gap[] = [];
    for (let i = 0; i + 1 < edges.length; i += 2) {
      const gap = this.#judge(c, edges[i], edges[i + 1]);
      if (gap) gaps.push(gap);
    }
    const long = gaps.filter(({ told, length }) => told === 'mute' && length >= this.#gateFrames);
    const others = gaps.filter(({ told, length }) => told === 'nothing' && length >= this.#gateFrames).length;
    const doubt = new GateDoubt(this.#tracks[c], long.map(doubtful), others);
    const crossings = long.filter(isAtCrossings);
    const crossing = new Set(crossings.length >= long.length * MOST_CROSSINGS ? crossings : []);
    const cuts = new Set(long.filter((gap) => crossing.has(gap) || doubt.couldBeGate(doubtful(gap))));
    return gaps.map((gap) => (cuts.has(gap) ? { ...gap, told: 'mute or cut' } : gap));
  }

  /** What a deck loses comes in equal lengths: a silence that chance does not explain and that is as long as several mutes is one too,
   * but for the zeros of the sound itself beside it. */
  #hasLengthOf(lengths: ReadonlySet<number>, { told, length, expectedByChance }: Gap): boolean {
    if (told !== 'nothing' || expectedByChance > MOST_EXPECTED) return false;
    return Array.from({ length: EDGE_SLACK + 1 }, (_, zeros) => length - zeros).some((known) => lengths.has(known));
  }

  #answer(channel: number): void {
    const { shortestFrames, shortestShared, cutSteps, rampSteps } = this.#settings;
    this.#emit.verdict({
      channel,
      question: 'muted-seen',
      answer: this.#silentFrames[channel - 1],
      confidence: 0.99,
      detectionLimit:
        `a silence is told from the programme's own where the sound breaks off at both ends: by ${BREAK} of its own steps, ` +
        `by ${HIGH_BREAK} if it has fewer than ${shortestShared} samples, of which at least ${shortestFrames}, or before it alone if it has ${RARE_FRAMES} and the sound is above ${rampSteps} steps; where it breaks off by ${HIGH_BREAK} before it, ` +
        `or is above ${cutSteps} steps before it and breaks off; where it is even on both sides and no softer than ${EVEN_STEPS} steps (${EVEN_PAUSE_STEPS} from ${this.#gateFrames} samples on), in a word of more than 16 bits those of 16; ` +
        `or is above ${rampSteps} steps, steady, and fades within about 20 ms, if what follows is not ${ATTACK} times as loud: a pause before another sound. From ${this.#gateFrames} samples on only where no gate of ` +
        `an editor explains it: one threshold for most such silences; of fewer than three, or fewer than the programme has of its own, each by itself. However soft the sound, where it is as long as several that are told`,
      evidence: { unit: 'silent samples', muteOrCut: this.#doubtful[channel - 1] },
    });
  }

  #close(c: number): void {
    const { start, length } = this.#open[c];
    if (start > 0 && length >= this.#settings.shortestFrames) this.#runs[c].push({ start, length });
    this.#open[c].length = 0;
  }

  #step(c: number): number {
    return 2 ** this.#steps[c].stepExponent(0.98);
  }

  /** Undefined where the silence may be chance or the programme's own and no neighbour could tell otherwise. */
  #judge(c: number, before: Edge, after: Edge): Gap | undefined {
    // In a longer word what would be the lowest bit of 16 is still next to silence: a fade, a filter that rings.
    const step = Math.max(before.quantum, after.quantum, 2 ** (this.#info.bits - 16));
    const start = before.start;
    const length = after.start - start;
    const isLong = length >= this.#settings.shortestShared;
    const byChance = this.#info.frames * chanceOfZero(before, after) ** length;
    // Where the sound around has no rows of zeros, those it has elsewhere prove nothing.
    const hasRows = Math.max(before.longestZeros, after.longestZeros) >= this.#settings.shortestFrames;
    const withRows = Math.max(byChance, hasRows ? this.#shortRunsExpect(c, length) : 0);
    const evenSteps = length < this.#gateFrames ? EVEN_STEPS : EVEN_PAUSE_STEPS;
    const isBroken =
      isBrokenOff(before, after, length, isLong, step) ||
      (isLong && isInEvenSound(before, after, length, evenSteps * step));
    const expectedByChance = Math.min(1, isBroken ? byChance : withRows);
    const isAbrupt = before.nearest / step > Math.max(this.#settings.quietSteps, before.level / step / 2);
    // No deck fades out and in again for a silence that is shorter than its fades; but it may fade in after one.
    const isLoud = isLong
      ? this.#isInLoudSound(before, after, step, isAbrupt)
      : isAbrupt && length >= RARE_FRAMES && this.#isHighBreak(before, after, step);
    const isTold = isBroken || isLoud;
    const gap = { channel: c + 1, start, length, before, after, step, expectedByChance, isAbrupt };
    if (isTold && expectedByChance <= MOST_EXPECTED)
      return { ...gap, told: !isBroken && after.level >= ATTACK * before.level ? 'mute or cut' : 'mute' };
    return isLong ? { ...gap, told: 'nothing' } : undefined;
  }

  /** Sound may well begin out of nothing, but it does not end so: the edge before the silence decides. */
  #isInLoudSound(before: Edge, after: Edge, step: number, isAbrupt: boolean): boolean {
    const { quietSteps, cutSteps, rampSteps, loudSteps } = this.#settings;
    const level = Math.min(before.level, after.level) / step;
    // An editor's gate cuts a decay off when it is nearly over; a deck mutes in the middle of the sound.
    const isCut = isAbrupt && level >= quietSteps && before.level / step >= cutSteps;
    return isCut || level >= loudSteps || (level >= rampSteps && before.steadiness >= STEADY);
  }

  /** A short silence with a fade behind it: the sound before it breaks off, and is loud on both sides. */
  #isHighBreak(before: Edge, after: Edge, step: number): boolean {
    const level = Math.min(before.level, after.level) / step;
    return before.breakHeight >= HIGH_BREAK * step && level >= this.#settings.rampSteps;
  }

  /** Sound with a dead zone around zero makes short silences by itself, each two samples half as often: taken from how many runs of
   * four to seven zeros the channel has. */
  #shortRunsExpect(c: number, length: number): number {
    return length >= this.#settings.shortestShared ? 0 : this.#shortRuns[c] * 2 ** (-(length - 4) / 2);
  }

  /** Noise of the lowest bits has short runs by the thousand, all of them explained by their number. */
  #worthALook(c: number): ZeroRun[] {
    const runs = this.#runs[c];
    this.#shortRuns[c] = countWithin(runs, 0, 8);
    const areRare = countWithin(runs, RARE_FRAMES, this.#settings.shortestShared) * MOST_OFTEN <= this.#info.frames;
    return runs.filter(
      ({ length }) => (areRare && length >= RARE_FRAMES) || this.#shortRunsExpect(c, length) <= WORTH_A_LOOK,
    );
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

  #report({ channel, start, length, before, after, step, expectedByChance, isAbrupt, told }: Gap, witness?: Gap): void {
    const rampBefore = isAbrupt ? 0 : before.ramp;
    this.#silentFrames[channel - 1] += length;
    this.#emit.finding({
      detector: 'muted',
      version: muted.meta.version,
      kind: 'muted',
      channels: [channel],
      start: start - rampBefore,
      length: rampBefore + length + after.ramp,
      confidence: witness || told === 'nothing' ? 0.95 : isAbrupt ? 0.999 : 0.99,
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

// Detector: stretches of exact zeros inside sound that breaks off before them and goes on after them as it was.
// Silence of the programme itself (a fade to zero, the recorder running before the tape) is not reported.
import { type Block, type FrameInfo, rateHz, type Span } from '../../base/index.ts';
import { StepCounter, zeroRuns } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { GateDoubt } from './gate-doubt.ts';
import {
  ATTACK,
  EVEN_PAUSE_STEPS,
  EVEN_STEPS,
  judgeSilence,
  MOST_EXPECTED,
  type MutedSettings,
  RARE_FRAMES,
  type SilenceRules,
  shortRunsExpect,
} from './judge-silence.ts';
import { LevelTrack } from './level-track.ts';
import { type Edge, edgesOf, measureEdge } from './mute-edges.ts';
import {
  BREAK,
  doubtful,
  EDGE_SLACK,
  type Gap,
  HIGH_BREAK,
  isAtCrossings,
  isSameGap,
  repeatedLengths,
} from './mute-gap.ts';
import { SecondLook } from './second-look.ts';

/** 23 ms at 44.1 kHz: decks ramp in 1-20 ms (formats.md 12, certainty M), so the level beyond a ramp is still in view. */
const CONTEXT = 1024;
/** Own choice: a short ramp is easily taken for none; a long one (up to 20 ms, formats.md 12, certainty M) shows in the level. */
const GUARD_SECONDS = 0.004;
/** … and how many may be expected from the short rows of the whole channel for one to get a second look. */
const WORTH_A_LOOK = 4;
/** Runs of RARE_FRAMES and more get a second look if there are no more of them than one in so many frames, however many shorter ones there
 * are. */
const MOST_OFTEN = 10_000;
/** An editor who cuts at zero crossings does so for at least this share of the silences. */
const MOST_CROSSINGS = 0.5;
/** A gate waits longer before it closes: whoever reads here reads below its threshold. Own choice. */
const PEAK_SECONDS = 0.01;
/** No editor's gate closes for less. Own choice. */
const GATE_SECONDS = 0.02;

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
    const rules = this.#rulesOf(c);
    for (let i = 0; i + 1 < edges.length; i += 2) {
      const gap = judgeSilence(c + 1, edges[i], edges[i + 1], rules);
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

  #rulesOf(c: number): SilenceRules {
    const { frames, bits } = this.#info;
    const settings = this.#settings;
    return { settings, frames, bits, gateFrames: this.#gateFrames, shortRuns: this.#shortRuns[c] };
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

  /** Noise of the lowest bits has short runs by the thousand, all of them explained by their number. */
  #worthALook(c: number): ZeroRun[] {
    const runs = this.#runs[c];
    this.#shortRuns[c] = countWithin(runs, 0, 8);
    const areRare = countWithin(runs, RARE_FRAMES, this.#settings.shortestShared) * MOST_OFTEN <= this.#info.frames;
    return runs.filter(
      ({ length }) => (areRare && length >= RARE_FRAMES) || shortRunsExpect(length, this.#rulesOf(c)) <= WORTH_A_LOOK,
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

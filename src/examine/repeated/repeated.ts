// Detector: stretches that are an exact copy of earlier sound, 16 to 8192 frames before, and stand where the sound should have
// gone on: a block played again. An editor who lengthens a pause makes the same once, over any length: only a lag that a deck has tells a loss. Not for holds (concealment), for lags below 16 (inner-slip) or for music that repeats.
import { type Block, type FrameInfo, type JsonObject, type Span, spanEnd } from '../../base/index.ts';
import { StepCounter } from '../../signal/index.ts';
import { lowestBitsOf } from '../block-statistics.ts';
import { SecondLook } from '../concealment/second-look.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { type Origin, originOf, recurringLags, unitsOfLength } from './lag-origin.ts';
import { isClear, judgeRepeat, type RepeatJudgement } from './repeat-judge.ts';
import {
  LONGEST_COPY,
  LONGEST_LAG,
  type RecentSamples,
  type RepeatRun,
  RepeatScan,
  SHORTEST_LAG,
  SHORTEST_RUN,
} from './repeat-scan.ts';

export interface RepeatedSettings extends JsonObject {
  /** most findings by chance over the whole channel that one finding may stand for */
  readonly chanceLimit: number;
}

export const repeated: Detector<RepeatedSettings> = {
  meta: {
    id: 'repeated',
    version: 6,
    label: 'Repeated blocks',
    needs: 'at least 64 frames',
    settings: { chanceLimit: 0.01 },
  },
  begin(info, settings, emit) {
    if (info.frames < 64) return { notApplicable: `only ${info.frames} frames` };
    return new RepeatedSession(info, settings, emit);
  },
};

const CONTEXT = 1024;
/** Samples of a run that the first look weighs. */
const WEIGHED = 256;
const ON_STEP = 0.98;
/** Channels that repeat together do so at the same frames, give or take samples that fit by chance. */
const SAME_PLACE = 8;

/** From the source's first sample to the copy's last. */
interface Candidate extends Span {
  readonly run: RepeatRun;
}

/** Told by itself or with another channel's. */
interface Copy {
  readonly judged: Judged;
  readonly witness: Judged | undefined;
}

interface Tally {
  /** samples of repeats */
  copied: number;
  /** copies that a deck or an editor may have made */
  doubtful: number;
}

interface Judged {
  readonly channel: number;
  readonly run: RepeatRun;
  readonly judgement: RepeatJudgement;
}

class RepeatedSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: RepeatedSettings;
  /** natural logarithm of the chance at one given place and lag that is small enough over the whole channel */
  readonly #enough: number;
  readonly #emit: Emit;
  readonly #steps: StepCounter[];
  readonly #scans: RepeatScan[];
  readonly #second: SecondLook<Candidate>;
  readonly #judged: Judged[] = [];

  constructor(info: FrameInfo, settings: RepeatedSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#steps = Array.from({ length: info.channels }, () => new StepCounter());
    this.#enough = Math.log(settings.chanceLimit) - Math.log(info.frames * LONGEST_LAG);
    const isWorthKeeping = (recent: RecentSamples, run: RepeatRun) => logChanceOf(recent, run) <= this.#enough;
    this.#scans = Array.from({ length: info.channels }, () => new RepeatScan(isWorthKeeping));
    this.#second = new SecondLook(info.channels, CONTEXT, (channel, candidate, samples, from) =>
      this.#judge(channel, candidate, samples, from),
    );
  }

  push(block: Block): void {
    const bits = lowestBitsOf(block);
    for (let c = 0; c < this.#scans.length; c++) {
      this.#scans[c].push(block.planes[c]);
      this.#steps[c].addLowest(bits[c]);
    }
  }

  finish(): readonly Span[] {
    const spans = this.#scans.flatMap((scan, c) => {
      scan.finish();
      const candidates = scan.runs.map((run) => ({ start: run.start - run.lag, length: run.lag + run.length, run }));
      return this.#second.plan(c, candidates);
    });
    // Without a second look nobody calls again.
    return spans;
  }

  look(block: Block): void {
    this.#second.look(block);
  }

  finishLook(): void {
    this.#second.finish();
    const clear = this.#judged.filter(({ judgement }) => isClear(judgement));
    const isAlone = new Set(clear);
    const copies = this.#judged.flatMap((judged): Copy[] => {
      const witness = isAlone.has(judged) ? undefined : clear.find((other) => isSamePlace(judged, other));
      return isAlone.has(judged) || witness ? [{ judged, witness }] : [];
    });
    const recurring = recurringLags(copies.map(({ judged }) => judged.run));
    const tallies = this.#scans.map(() => ({ copied: 0, doubtful: 0 }));
    for (const { judged, witness } of copies) {
      const { run, channel } = judged;
      const origin = originOf(run.lag, recurring, this.#info.rate);
      if (origin) tallies[channel].copied += run.length;
      else tallies[channel].doubtful++;
      this.#report(judged, origin, witness);
    }
    for (const [c, tally] of tallies.entries()) this.#answer(c, tally);
  }

  #judge(channel: number, { start, run }: Candidate, samples: Int32Array, from: number): void {
    const copyFrom = run.start - start + from;
    const step = 2 ** this.#steps[channel].stepExponent(ON_STEP);
    const stretch = { samples, from: copyFrom, to: copyFrom + run.length, lag: run.lag, step };
    const judgement = judgeRepeat(stretch, this.#enough);
    if (judgement) this.#judged.push({ channel, run, judgement });
  }

  #expected({ logChance }: RepeatJudgement): number {
    return Math.exp(logChance + Math.log(this.#info.frames * LONGEST_LAG));
  }

  /** Without an origin no loss: the document says that nobody can tell from the samples. */
  #report({ channel, run, judgement }: Judged, origin: Origin | undefined, witness?: Judged): void {
    const { logChance, jumpIn, jumpOut, usual } = judgement;
    const expectedByChance = this.#expected(judgement);
    const joints = causeOf(witness ?? { channel, run, judgement });
    this.#emit.finding({
      detector: 'repeated',
      version: repeated.meta.version,
      kind: origin ? 'repeated' : 'copied',
      channels: [channel + 1],
      start: run.start,
      length: run.length,
      confidence: (witness ? 0.95 : 0.99) / (1 + expectedByChance),
      expectedByChance,
      measured: run.length,
      expected: null,
      unit: 'samples',
      detail: {
        lagFrames: run.lag,
        formatUnits: unitsOfLength(run.lag, this.#info.rate),
        ...(origin ? { cause: joints, lagIs: origin } : { cause: CANNOT_TELL, joints }),
        jumpInSteps: Math.round(jumpIn),
        jumpOutSteps: Math.round(jumpOut),
        usualSteps: Math.round(usual * 10) / 10,
        log10Chance: Math.round((logChance / Math.LN10) * 10) / 10,
        ...(witness ? { togetherWithChannel: witness.channel + 1 } : {}),
      },
    });
  }

  #answer(c: number, { copied, doubtful }: Tally): void {
    const { loops, leftOut } = this.#scans[c];
    this.#emit.verdict({
      channel: c + 1,
      question: 'repeated-seen',
      answer: copied,
      confidence: 0.99,
      detectionLimit:
        `exact copies from ${SHORTEST_LAG} to ${LONGEST_LAG} frames before, at least ${SHORTEST_RUN} samples and at most ${LONGEST_COPY}, ` +
        'whose joints stand out at least eightfold from what a linear prediction misses around them, or whose samples chance does not repeat ' +
        '(one in e^70, in a whisper of one step some 60 samples, none where most of what it misses is nothing); ' +
        'of copies of less than 12 samples from more than 4096 frames before up to one in ten is missed; ' +
        'scattered repeated samples, shorter copies that join smoothly and copies in sound that repeats by itself cannot be told; ' +
        "a copy whose lag is no unit of a format at about this rate, no power of two and no other copy's may be an editor's and is told as that",
      evidence: {
        unit: 'samples copied',
        repeatOrCopy: doubtful,
        loopsLeftAside: loops,
        runsLeftOut: leftOut,
        chanceLimit: this.#settings.chanceLimit,
      },
    });
  }
}

const CANNOT_TELL = "cannot tell a deck's repeat from an editor's copy";

/** A copy of a whole lag may have been put in; then what follows it is what followed its source. */
function causeOf({ run, judgement }: Judged): string {
  if (judgement.isInserted) return 'inserted';
  if (judgement.breaksOut || Math.abs(run.length - run.lag) > 2) return 'written over';
  return 'cannot tell';
}

function isSamePlace(one: Judged, other: Judged): boolean {
  const { run } = one;
  return (
    one.channel !== other.channel &&
    run.lag === other.run.lag &&
    Math.abs(run.start - other.run.start) <= SAME_PLACE &&
    Math.abs(spanEnd(run) - spanEnd(other.run)) <= SAME_PLACE
  );
}

/** Chance of a run by how lively its own samples are, or their changes in smooth sound: the second look takes it from a prediction. */
function logChanceOf({ samples, first }: RecentSamples, { start, length }: RepeatRun): number {
  const weighed = Math.min(length, WEIGHED);
  const end = start + length - first;
  let [sum, bends, different, or] = [0, 0, 0, 0];
  for (let i = end - weighed + 2; i < end; i++) {
    const change = samples[i] - samples[i - 1];
    sum += Math.abs(change);
    bends += Math.abs(change - samples[i - 1] + samples[i - 2]);
    or |= samples[i];
    if (change !== 0) different++;
  }
  if (different === 0) return 0;
  // Whether a sample changes, and by how much if it does.
  const share = different / (weighed - 2);
  const step = or === 0 ? 1 : or & -or;
  const whether = share < 1 ? -share * Math.log(share) - (1 - share) * Math.log(1 - share) : 0;
  return -length * (whether + share * Math.log(Math.max(1, (3 * Math.min(sum, bends)) / different / step)));
}

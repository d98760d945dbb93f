// Detector: clicks, one to three samples that stand out of the sound on both sides of them, which goes on as if they were not
// there; silence is sound that goes on. Not a kind of loss: where they come from (dust on a head, an interface, a bit) the samples do
// not say.
import { type Block, type FrameInfo, type JsonObject, type Span, spanEnd } from '../../base/index.ts';
import { BREAK_ROUNDING, fourthDifference, largestBeside, StepCounter } from '../../signal/index.ts';
import { lowestBitsOf } from '../block-statistics.ts';
import { SecondLook } from '../concealment/second-look.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { JOINT_CONTEXT, JOINT_SIDE } from './joint-model.ts';
import { JOINT_SIGHT, type Joint } from './joint-scan.ts';
import { JointScans } from './joint-scans.ts';
import { judgeClick, type OutlyingSamples, WIDEST } from './judge-click.ts';
import { MostStriking } from './most-striking.ts';

export interface ClickSettings extends JsonObject {
  /** most findings by chance over the whole channel that one finding may stand for */
  readonly chanceLimit: number;
  /** fourth difference against the largest of its surroundings, whatever chance says */
  readonly leastRatio: number;
}

export const click: Detector<ClickSettings> = {
  meta: {
    id: 'click',
    version: 3,
    label: 'Clicks',
    needs: 'at least 2048 frames',
    settings: { chanceLimit: 0.01, leastRatio: 8 },
  },
  begin(info, settings, emit) {
    if (info.frames < 2048) return { notApplicable: `only ${info.frames} frames` };
    return new ClickSession(info, settings, emit);
  },
};

const ON_STEP = 0.98;
/** Joints of a channel looked at again, or one in so many frames of a long one. More are sound made of breaks. */
const MOST_PLACES = 256;
const FRAMES_PER_PLACE = 16_384;
/** The largest fourth difference in the whole surroundings against that in the nearest, which are tallied: of 304 against 36 normal
 * values. */
const WIDER = 4 / 3;

interface Candidate extends Span {
  readonly joint: Joint;
}

interface Click extends OutlyingSamples {
  readonly joint: Joint;
}

class ClickSession implements DetectorSession {
  readonly #settings: ClickSettings;
  readonly #emit: Emit;
  readonly #frames: number;
  readonly #joints: MostStriking[];
  #scans: JointScans;
  readonly #steps: StepCounter[];
  readonly #clicks: Click[][];
  readonly #second: SecondLook<Candidate>;

  constructor(info: FrameInfo, settings: ClickSettings, emit: Emit) {
    this.#settings = settings;
    this.#emit = emit;
    this.#frames = info.frames;
    const channels = Array.from({ length: info.channels }, (_, c) => c);
    const most = Math.max(MOST_PLACES, Math.floor(info.frames / FRAMES_PER_PLACE));
    this.#joints = channels.map(() => new MostStriking(most));
    this.#clicks = channels.map(() => []);
    this.#steps = channels.map(() => new StepCounter());
    this.#scans = new JointScans(info.channels);
    this.#second = new SecondLook(info.channels, JOINT_CONTEXT, (channel, { joint }, samples, from) =>
      this.#judge(channel, joint, samples, from),
    );
  }

  push(block: Block): void {
    const bits = lowestBitsOf(block);
    for (const [c, step] of this.#steps.entries()) step.addLowest(bits[c]);
    this.#scans = this.#scans.after(block);
    this.#takeSeen();
  }

  finish(): readonly Span[] {
    this.#scans.finish();
    this.#takeSeen();
    // Without a second look nobody calls again.
    return this.#joints.flatMap(({ joints }, c) =>
      this.#second.plan(
        c,
        joints.map((joint) => ({ start: joint.frame, length: 1, joint })),
      ),
    );
  }

  #takeSeen(): void {
    for (const [c, own] of this.#joints.entries()) {
      for (const { joint, samples, at } of this.#scans.channels[c].seen)
        if (standsClear(joint, samples, at, this.#settings.leastRatio)) own.add(joint);
    }
  }

  look(block: Block): void {
    this.#second.look(block);
  }

  finishLook(): void {
    this.#second.finish();
    for (const [c, clicks] of this.#clicks.entries()) {
      for (const one of clicks) this.#report(c, one);
      this.#answer(c, clicks.length);
    }
  }

  #judge(c: number, joint: Joint, samples: Int32Array, at: number): void {
    const step = this.#stepOf(c);
    if (fourthDifference(samples, at) < this.#settings.leastRatio * BREAK_ROUNDING * step) return;
    const found = judgeClick(samples, at, step);
    if (!found || found.chance * this.#frames > this.#settings.chanceLimit) return;
    const start = found.start - at + joint.frame;
    const clicks = this.#clicks[c];
    const last = clicks.at(-1);
    // Both edges of one click may be joints.
    if (last && start < spanEnd(last) + WIDEST) {
      if (last.misfitWithout <= found.misfitWithout) return;
      clicks.pop();
    }
    clicks.push({ ...found, start, joint });
  }

  #stepOf(c: number): number {
    return 2 ** this.#steps[c].stepExponent(ON_STEP);
  }

  #report(c: number, { start, length, joint, heightSteps, misfit, misfitWithout, chance }: Click): void {
    const expectedByChance = this.#frames * chance;
    this.#emit.finding({
      detector: 'click',
      version: click.meta.version,
      kind: 'click',
      channels: [c + 1],
      start,
      length,
      confidence: 0.98 / (1 + expectedByChance),
      expectedByChance,
      measured: heightSteps,
      expected: 0,
      unit: 'steps',
      detail: {
        samples: length,
        ratio: Math.round(joint.ratio * 10) / 10,
        misfit: Math.round(misfit * 10) / 10,
        misfitWithout: Math.round(misfitWithout * 100) / 100,
      },
    });
  }

  #answer(c: number, count: number): void {
    const { chanceLimit, leastRatio } = this.#settings;
    // A click of one step makes a fourth difference of six.
    const heightFor = (rest: number) => Math.ceil((leastRatio * rest) / 6);
    const { around } = this.#scans.channels[c];
    const height = (share: number) => {
      const rest = around.quantile(share);
      return rest === undefined ? undefined : heightFor((WIDER * rest) / this.#stepOf(c));
    };
    const [half, loud] = [height(0.5), height(0.9)];
    const silent = heightFor(BREAK_ROUNDING);
    this.#emit.verdict({
      channel: c + 1,
      question: 'click-seen',
      answer: count,
      confidence: 0.98,
      detectionLimit:
        `clicks of one to ${WIDEST} samples: ` +
        (half === undefined || loud === undefined
          ? `nothing sounds; in silence from about ${silent} steps`
          : `in half of the sound from about ${half} steps, in its liveliest tenth from about ${loud}, in silence from about ${silent}`) +
        `; not within ${JOINT_SIDE} frames of either end, nor two within ${JOINT_SIGHT}` +
        (this.#joints[c].isShort ? '; the sound is full of breaks, of which the most striking were looked at' : ''),
      evidence: {
        unit: 'clicks',
        ratioNeeded: leastRatio,
        stepsMedian: half ?? null,
        stepsLiveliestTenth: loud ?? null,
        chanceLimit,
      },
    });
  }
}

/** Nothing like it within sight on either side; where all is silence, the same on both sides. */
function standsClear({ ratio }: Joint, samples: Int32Array, at: number, leastRatio: number): boolean {
  if (ratio < leastRatio) return false;
  if (fourthDifference(samples, at) < leastRatio * largestBeside(samples, at, JOINT_SIGHT)) return false;
  return largestBeside(samples, at) > 0 || goesStraightOn(samples, at);
}

/** Sides without fourth differences, as a line or a constant, of which one carries on the other. */
function goesStraightOn(x: Int32Array, at: number): boolean {
  return x[at + 5] - x[at - 5] === 10 * (x[at - 5] - x[at - 6]);
}

// Detector: clicks, one to three samples that stand out of the sound on both sides of them, which goes on as if they were not
// there. Not a kind of loss: where they come from (dust on a head, an interface, a bit) the samples do not say.
import type { Block, FrameInfo, JsonObject, Span } from '../../base/index.ts';
import { StepCounter } from '../../signal/index.ts';
import { lowestBitsOf } from '../block-statistics.ts';
import { SecondLook } from '../concealment/second-look.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { JOINT_CONTEXT } from './joint-model.ts';
import { type Joint, JointScan } from './joint-scan.ts';
import { judgeClick, type OutlyingSamples, WIDEST } from './judge-click.ts';

export interface ClickSettings extends JsonObject {
  /** most findings by chance over the whole channel that one finding may stand for */
  readonly chanceLimit: number;
  /** fourth difference against its surroundings, whatever chance says */
  readonly leastRatio: number;
}

export const click: Detector<ClickSettings> = {
  meta: {
    id: 'click',
    version: 1,
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
/** More joints than this are sound made of clicks, or a broken file. */
const MOST_JOINTS = 20_000;

interface Candidate extends Span {
  readonly joint: Joint;
}

interface Click extends OutlyingSamples {
  readonly joint: Joint;
}

class ClickSession implements DetectorSession {
  readonly #settings: ClickSettings;
  readonly #emit: Emit;
  readonly #joints: Joint[][];
  readonly #scans: JointScan[];
  readonly #steps: StepCounter[];
  readonly #clicks: Click[][];
  readonly #second: SecondLook<Candidate>;

  constructor(info: FrameInfo, settings: ClickSettings, emit: Emit) {
    this.#settings = settings;
    this.#emit = emit;
    const channels = Array.from({ length: info.channels }, (_, c) => c);
    this.#joints = channels.map(() => []);
    this.#clicks = channels.map(() => []);
    this.#steps = channels.map(() => new StepCounter());
    this.#scans = this.#joints.map(
      (own) =>
        new JointScan((joint) => {
          if (joint.ratio >= settings.leastRatio && own.length < MOST_JOINTS) own.push(joint);
        }),
    );
    this.#second = new SecondLook(info.channels, JOINT_CONTEXT, (channel, { joint }, samples, from) => {
      const found = judgeClick(samples, from, 2 ** this.#steps[channel].stepExponent(ON_STEP));
      if (found) this.#clicks[channel].push({ ...found, start: found.start - from + joint.frame, joint });
    });
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
      const rare = this.#joints[c].filter(({ ratio }) => scan.tail.expected(ratio) <= this.#settings.chanceLimit);
      return this.#second.plan(
        c,
        rare.map((joint) => ({ start: joint.frame, length: 1, joint })),
      );
    });
    // Without a second look nobody calls again.
    return spans;
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

  #report(c: number, { start, length, joint, heightSteps, misfit, misfitWithout }: Click): void {
    const expectedByChance = this.#scans[c].tail.expected(joint.ratio);
    this.#emit.finding({
      detector: 'click',
      version: 1,
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
    const { tail, around } = this.#scans[c];
    const { chanceLimit, leastRatio } = this.#settings;
    const ratio = Math.max(leastRatio, tail.ratioFor(chanceLimit));
    const step = 2 ** this.#steps[c].stepExponent(ON_STEP);
    // A click of one step makes a fourth difference of six.
    const height = (share: number) => {
      const rest = around.quantile(share);
      return rest === undefined ? undefined : Math.ceil((ratio * rest) / 6 / step);
    };
    const [half, loud] = [height(0.5), height(0.9)];
    this.#emit.verdict({
      channel: c + 1,
      question: 'click-seen',
      answer: count,
      confidence: 0.98,
      detectionLimit:
        half === undefined
          ? 'no sound in which a click could be told'
          : `clicks of one to ${WIDEST} samples: in half of the sound from about ${half} steps, in its liveliest tenth from about ${loud}; ` +
            'not within 5 ms of silence, nor two within 24 samples',
      evidence: {
        unit: 'clicks',
        ratioNeeded: Math.round(ratio * 10) / 10,
        stepsMedian: half ?? null,
        stepsLiveliestTenth: loud ?? null,
        chanceLimit,
      },
    });
  }
}

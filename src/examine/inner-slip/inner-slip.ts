// Detector: frames dropped or doubled inside one capture, where the sound itself shows it: an interface or a clock that
// slipped. Slips between two captures are align's, with far more certainty. Not a loss of the deck.
import type { Block, FrameInfo, JsonObject, Span } from '../../base/index.ts';
import { largestBeside, StepCounter } from '../../signal/index.ts';
import { lowestBitsOf } from '../block-statistics.ts';
import { JOINT_CONTEXT } from '../click/joint-model.ts';
import type { Joint } from '../click/joint-scan.ts';
import { JointScans } from '../click/joint-scans.ts';
import { SecondLook } from '../concealment/second-look.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { logChanceOfLongest } from './exact-copies.ts';
import { JOINT_REACH, judgeSlip, LONGEST_COPY, LONGEST_SLIP, type Slip } from './judge-slip.ts';

export interface InnerSlipSettings extends JsonObject {
  /** most findings by chance over the whole recording that one finding may stand for */
  readonly chanceLimit: number;
  /** the same where nobody can say how many frames are missing: attacks and edits look alike, so the break must be far rarer */
  readonly openChanceLimit: number;
}

export const innerSlip: Detector<InnerSlipSettings> = {
  meta: {
    id: 'inner-slip',
    version: 1,
    label: 'Dropped or doubled frames',
    needs: 'at least 2048 frames',
    settings: { chanceLimit: 0.01, openChanceLimit: 1e-5 },
  },
  begin(info, settings, emit) {
    if (info.frames < 2048) return { notApplicable: `only ${info.frames} frames` };
    return new InnerSlipSession(info, settings, emit);
  },
};

const ON_STEP = 0.98;
/** Lengths and beginnings tried for doubled frames. */
const CHOICES = LONGEST_COPY * (2 * JOINT_REACH + 1);
/** Joints kept per channel. */
const MOST_JOINTS = 20_000;
/** Places looked at again: the most striking, so many in the whole recording, or one in so many frames of a long one. */
const MOST_PLACES = 32;
const FRAMES_PER_PLACE = 500_000;

interface SeenJoint extends Joint {
  /** of an exact copy that begins there; 0 without one */
  readonly logCopyChance: number;
}

/** One place in all channels. */
interface Place extends Span {
  readonly expectedJoints: number;
  /** the same with the copy that begins there, if any */
  readonly expected: number;
}

interface Found {
  readonly slip: Slip;
  readonly start: number;
  readonly expectedByChance: number;
}

class InnerSlipSession implements DetectorSession {
  readonly #settings: InnerSlipSettings;
  readonly #emit: Emit;
  readonly #frames: number;
  readonly #joints: SeenJoint[][];
  #scans: JointScans;
  readonly #steps: StepCounter[];
  readonly #second: SecondLook<Place>;
  /** samples of a place, channel by channel, until all are there */
  readonly #gathered = new Map<Place, Int32Array[]>();
  readonly #found: Found[] = [];

  constructor(info: FrameInfo, settings: InnerSlipSettings, emit: Emit) {
    this.#settings = settings;
    this.#emit = emit;
    this.#frames = info.frames;
    const channels = Array.from({ length: info.channels }, (_, c) => c);
    this.#joints = channels.map(() => []);
    this.#steps = channels.map(() => new StepCounter());
    this.#scans = new JointScans(info.channels);
    this.#second = new SecondLook(info.channels, JOINT_CONTEXT, (_channel, place, samples, from) =>
      this.#gather(place, samples, from),
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
    const places = this.#places();
    return this.#joints.flatMap((_, c) => this.#second.plan(c, places));
  }

  #takeSeen(): void {
    for (const [c, own] of this.#joints.entries()) {
      for (const { joint, samples, at } of this.#scans.channels[c].seen) {
        // A slip does not show in silence: what rises out of it is a click.
        if (own.length >= MOST_JOINTS || largestBeside(samples, at) === 0) continue;
        own.push({ ...joint, logCopyChance: logChanceOfLongest(samples, at, LONGEST_SLIP, JOINT_REACH) });
      }
    }
  }

  look(block: Block): void {
    this.#second.look(block);
  }

  finishLook(): void {
    this.#second.finish();
    for (const found of withoutNeighbours(this.#found)) this.#report(found);
    for (let c = 0; c < this.#joints.length; c++) this.#answer(c);
  }

  /** Joints of all channels at the same frames, where they are rarer than chance allows or a copy begins. */
  #places(): Place[] {
    const all = this.#joints
      .flatMap((own, c) =>
        own.map((joint) => ({ ...joint, expected: this.#scans.channels[c].tail.expected(joint.ratio) })),
      )
      .sort((a, b) => a.frame - b.frame);
    const places: Place[] = [];
    for (let i = 0; i < all.length; ) {
      let [best, logCopy, end] = [all[i], 0, i];
      for (; end < all.length && all[end].frame - all[i].frame <= JOINT_REACH; end++) {
        if (all[end].expected < best.expected) best = all[end];
        logCopy += all[end].logCopyChance;
      }
      const withCopy = best.expected * Math.min(1, CHOICES * Math.exp(logCopy));
      if (withCopy <= this.#settings.chanceLimit) {
        places.push({ start: best.frame, length: 1, expectedJoints: best.expected, expected: withCopy });
      }
      i = end;
    }
    const most = Math.max(MOST_PLACES, this.#frames / FRAMES_PER_PLACE);
    return places.sort((a, b) => a.expected - b.expected || a.start - b.start).slice(0, most);
  }

  #gather(place: Place, samples: Int32Array, at: number): void {
    const planes = [...(this.#gathered.get(place) ?? []), samples.slice()];
    this.#gathered.set(place, planes);
    if (planes.length < this.#joints.length) return;
    this.#gathered.delete(place);
    const slip = judgeSlip(
      planes,
      this.#steps.map((step) => 2 ** step.stepExponent(ON_STEP)),
      at,
    );
    if (!slip) return;
    const choices = slip.cause === 'duplicated' ? Math.min(1, CHOICES * Math.exp(slip.logChance)) : 1;
    const expectedByChance = place.expectedJoints * choices;
    const { chanceLimit, openChanceLimit } = this.#settings;
    if (expectedByChance > (slip.frames === null ? openChanceLimit : chanceLimit)) return;
    this.#found.push({ slip, start: place.start - at + slip.at, expectedByChance });
  }

  #report({ slip, start, expectedByChance }: Found): void {
    const { cause, frames, fewest, most, misfit, misfitExplained, channels } = slip;
    this.#emit.finding({
      detector: 'inner-slip',
      version: innerSlip.meta.version,
      kind: 'discontinuity',
      channels: channels.map((c) => c + 1),
      start,
      length: cause === 'duplicated' ? (frames ?? 1) : 1,
      confidence: (cause === 'duplicated' ? 0.98 : 0.9) / (1 + expectedByChance),
      expectedByChance,
      measured: frames,
      expected: 0,
      unit: 'frames',
      detail: {
        cause,
        // Two takes put together, or a long stretch played again, look the same as many frames lost.
        otherCauses: most < LONGEST_SLIP || cause === 'duplicated' ? [] : ['duplicated', 'edit'],
        fewestFrames: fewest,
        mostFrames: most < LONGEST_SLIP || cause === 'duplicated' ? most : null,
        misfit: Math.round(misfit * 10) / 10,
        misfitExplained: Math.round(misfitExplained * 100) / 100,
      },
    });
  }

  #answer(c: number): void {
    const { tail, around } = this.#scans.channels[c];
    const { chanceLimit } = this.#settings;
    const step = 2 ** this.#steps[c].stepExponent(ON_STEP);
    const ratio = tail.ratioFor(chanceLimit);
    // A jump of one step makes a fourth difference of three.
    const jump = (share: number) => {
      const rest = around.quantile(share);
      return rest === undefined ? undefined : Math.ceil((ratio * rest) / 3 / step);
    };
    const [half, lively] = [jump(0.5), jump(0.9)];
    this.#emit.verdict({
      channel: c + 1,
      question: 'inner-slip-seen',
      answer: this.#found.filter(({ slip }) => slip.channels.includes(c)).length,
      confidence: 0.9,
      detectionLimit:
        half === undefined
          ? 'no sound in which a slip could be told'
          : `a slip shows only where the waveform jumps: in half of the sound by about ${half} steps, in its liveliest tenth by ` +
            `about ${lively}; frames played twice up to ${LONGEST_COPY}, frames lost only where the break is far out of the ordinary, their number only where it can be told; ` +
            'slips in calm, quiet or noise-like sound cannot be told from one capture',
      evidence: {
        unit: 'slips',
        ratioNeeded: Math.round(ratio * 10) / 10,
        jumpStepsMedian: half ?? null,
        jumpStepsLiveliestTenth: lively ?? null,
        chanceLimit,
      },
    });
  }
}

/** Of findings a few frames apart the one less likely by chance. */
function withoutNeighbours(found: readonly Found[]): Found[] {
  const kept: Found[] = [];
  for (const one of [...found].sort((a, b) => a.start - b.start)) {
    const last = kept.at(-1);
    if (!last || one.start - last.start > LONGEST_SLIP) kept.push(one);
    else if (one.expectedByChance < last.expectedByChance) kept[kept.length - 1] = one;
  }
  return kept;
}

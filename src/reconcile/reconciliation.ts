// The session of reconciling: streams the master and keeps its provenance, tallies, agreement and stripe. Memory is
// bounded by the window and by the number of provenance runs. Opens no files; captures are sources of frames.
import type { Alignment } from '../align/index.ts';
import {
  type Block,
  DEFAULT_BLOCK_FRAMES,
  emptyBlock,
  type FrameInfo,
  intersectSpans,
  type Progress,
  type StopSignal,
  spanEnd,
  throwIfStopped,
} from '../base/index.ts';
import { ChannelJudge, type JudgedRead } from './channel-judge.ts';
import { AHEAD_FRAMES, HISTORY_FRAMES } from './limits.ts';
import { copiedSpans, guardedSpans, lossSpans, twiceSpans } from './loss-spans.ts';
import { type PlacedSpan, placedSpans } from './placed-spans.ts';
import type { PlannedChannel, ReconcilePlan } from './plan.ts';
import type { ProvenanceRun, ReadRef, ReasonCode, ReconcileCapture } from './provenance.ts';
import { ReadWindow } from './read-window.ts';
import type { Tally } from './run-book.ts';
import { type StripeColumn, stripeOf } from './stripe.ts';

export interface ReconcileOptions {
  readonly blockFrames?: number;
  /** low bits that are always zero, counted in the master's width; measured around each difference when absent */
  readonly stepBits?: number;
  readonly stop?: StopSignal | undefined;
  readonly progress?: Progress | undefined;
}

export interface ChannelTally extends Tally {
  readonly channel: number;
}

export interface PairAgreement {
  readonly channel: number;
  readonly a: ReadRef;
  readonly b: ReadRef;
  /** frames that both cover */
  readonly comparedFrames: number;
  readonly equalFrames: number;
}

/**
 * `blocks()` once to the end; then everything else. Block planes are the master channels in plan order at `plan.bits`,
 * `start` in master frames; planes are reused between blocks. Throws `io` when a capture is shorter than its placement,
 * `cancelled` on stop.
 */
export function reconcile(
  captures: readonly ReconcileCapture[],
  alignment: Alignment,
  plan: ReconcilePlan,
  options: ReconcileOptions = {},
): Reconciliation {
  return new Reconciliation(captures, alignment, plan, options);
}

export class Reconciliation {
  readonly plan: ReconcilePlan;
  readonly #options: ReconcileOptions;
  readonly #blockFrames: number;
  readonly #judges: readonly ChannelJudge[];
  readonly #window: ReadWindow;
  #started = false;

  constructor(
    captures: readonly ReconcileCapture[],
    alignment: Alignment,
    plan: ReconcilePlan,
    options: ReconcileOptions,
  ) {
    this.plan = plan;
    this.#options = options;
    this.#blockFrames = Math.max(1, Math.min(options.blockFrames ?? DEFAULT_BLOCK_FRAMES, plan.frames));
    const capacity = HISTORY_FRAMES + AHEAD_FRAMES + Math.max(this.#blockFrames, AHEAD_FRAMES);
    const size = Math.min(capacity, plan.frames);
    const places = placesOf(captures, alignment, plan);
    const step = options.stepBits === undefined ? 0 : 2 ** options.stepBits;
    const reads = plan.channels.map((c) => judgedReads(captures, c, places, { frames: size, bits: plan.bits }));
    this.#judges = plan.channels.map(
      ({ channel }, i) => new ChannelJudge(channel, reads[i], new Int32Array(size), plan.frames, step),
    );
    const feeds = [...places].map(([index, { placed }]) => ({
      capture: captures[index],
      placed,
      taps: reads
        .flat()
        .filter((r) => r.ref.capture === index)
        .map((r) => ({ fileChannel: r.ref.fileChannel, plane: r.plane })),
    }));
    const outs = this.#judges.map((j) => j.out);
    this.#window = new ReadWindow(feeds, outs, { frames: plan.frames, bits: plan.bits, capacity: size });
  }

  async *blocks(): AsyncGenerator<Block> {
    if (this.#started) throw new Error('blocks() of a Reconciliation can be taken once');
    this.#started = true;
    const { stop, progress } = this.#options;
    const total = this.plan.frames;
    for (let at = 0; at < total && this.#judges.length > 0; at += this.#blockFrames) {
      throwIfStopped(stop);
      const frames = Math.min(this.#blockFrames, total - at);
      await this.#window.fill(at - HISTORY_FRAMES, at + frames + AHEAD_FRAMES, stop);
      const { base } = this.#window;
      for (const judge of this.#judges) judge.decide(at + frames, base);
      yield { start: at, frames, planes: this.#judges.map((j) => j.out.subarray(at - base, at - base + frames)) };
      progress?.({ stage: 'reconcile', done: at + frames, total, unit: 'frames' });
    }
    if (total === 0 || this.#judges.length === 0) yield emptyBlock(0, this.#judges.length, 0);
  }

  /** Per channel in plan order, sorted, abutting from 0 to `plan.frames`. */
  runs(): readonly ProvenanceRun[] {
    return this.#judges.flatMap((j) => [...j.book.runs()]);
  }

  tallies(): readonly ChannelTally[] {
    return this.#judges.map((j) => ({ channel: j.book.channel, ...j.book.tally() }));
  }

  /** Frames per reason. */
  reasons(): readonly { readonly channel: number; readonly frames: Partial<Record<ReasonCode, number>> }[] {
    return this.#judges.map((j) => ({ channel: j.book.channel, frames: j.book.reasonCounts() }));
  }

  agreement(): readonly PairAgreement[] {
    return this.#judges.flatMap((judge, i) => pairsOf(judge, this.plan.channels[i]));
  }

  /** For pictures: per channel, `columns` columns of equal width over the master. */
  stripe(columns: number): readonly { readonly channel: number; readonly columns: readonly StripeColumn[] }[] {
    return this.#judges.map((j) => ({
      channel: j.book.channel,
      columns: stripeOf(j.book.spans(), this.plan.frames, columns),
    }));
  }

  /** How many runs of provenance there are, without building them. */
  runCount(): number {
    return this.#judges.reduce((sum, j) => sum + j.book.size, 0);
  }
}

interface Place {
  readonly placed: readonly PlacedSpan[];
  readonly isBitEqual: boolean;
}

function placesOf(captures: readonly ReconcileCapture[], alignment: Alignment, plan: ReconcilePlan) {
  const used = new Set(plan.channels.flatMap((c) => c.reads.map((r) => r.capture)));
  const places = new Map<number, Place>();
  for (const placement of alignment.placements) {
    if (placement.group !== plan.group || !used.has(placement.capture) || !captures[placement.capture]) continue;
    const placed = placedSpans(placement, plan.start);
    places.set(placement.capture, { placed, isBitEqual: placement.relation === 'bit-equal' });
  }
  return places;
}

function judgedReads(
  captures: readonly ReconcileCapture[],
  planned: PlannedChannel,
  places: ReadonlyMap<number, Place>,
  window: { readonly frames: number; readonly bits: number },
): JudgedRead[] {
  const passes = planned.reads.map((r) => captures[r.capture].pass);
  const placedOf = (ref: ReadRef) => places.get(ref.capture)?.placed ?? [];
  const twice = planned.reads.map((ref) => twiceSpans(captures[ref.capture], ref, placedOf(ref)));
  return planned.reads.map((ref, i) => {
    const { placed, isBitEqual } = places.get(ref.capture) ?? { placed: [], isBitEqual: true };
    const isAlone = passes.filter((p) => p === passes[i]).length === 1;
    return {
      ref,
      pass: passes[i],
      label: isAlone ? `pass ${passes[i]}` : `pass ${passes[i]} (${captures[ref.capture].source.info.name})`,
      isBitEqual,
      cover: placed,
      losses: lossSpans(captures[ref.capture], ref, placed),
      guarded: guardedSpans(captures[ref.capture], ref, placed),
      copied: copiedSpans(captures[ref.capture], ref, placed).filter(
        (span) => !twice.some((own, k) => k !== i && intersectSpans(own, [span]).length > 0),
      ),
      lostValue: lostValueIn(captures[ref.capture].source.info, window.bits),
      plane: new Int32Array(window.frames),
    };
  });
}

/** The samples of a narrower read stand at the top of the master's word (read-window.ts), its error code with them. */
function lostValueIn({ lostValue, bits }: FrameInfo, masterBits: number): number | undefined {
  return lostValue === undefined ? undefined : lostValue << (masterBits - bits);
}

function pairsOf(judge: ChannelJudge, planned: PlannedChannel): PairAgreement[] {
  const { reads } = planned;
  const pairs: PairAgreement[] = [];
  for (let a = 0; a < reads.length; a++) {
    for (let b = a + 1; b < reads.length; b++) {
      let compared = 0;
      for (const stretch of judge.stretches) {
        const seen = Math.min(spanEnd(stretch), judge.book.end) - stretch.start;
        if (seen > 0 && stretch.reads.includes(a) && stretch.reads.includes(b)) compared += seen;
      }
      const equalFrames = compared - judge.differing[a * reads.length + b];
      pairs.push({ channel: planned.channel, a: reads[a], b: reads[b], comparedFrames: compared, equalFrames });
    }
  }
  return pairs;
}

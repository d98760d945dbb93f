// Joins groups without equal samples to the reference's timeline by likeness, and says of what kind the likeness is.
import { type FrameSource, heldOverSource, type StopSignal, throwIfStopped } from '../base/index.ts';
import { commonChannels } from './channels.ts';
import { classify, type Judgement } from './classify.ts';
import { FeatureCache, findLikeness, type Likeness, type PairSides } from './likeness.ts';
import type { ChannelPair } from './match.ts';
import { PairReader } from './pair-reader.ts';
import type { AlignInput, Relation } from './placement.ts';
import { type FittedMap, mapFrame } from './time-map.ts';
import { type CapturePosition, offsetAt } from './timeline.ts';
import { type Comparison, compareAlong } from './verify.ts';

/** Group frame g lies at frame g * (1 + driftPpm * 1e-6) + offset of the timeline it was joined to. */
export interface JoinedInto {
  readonly group: number;
  /** the capture of the joined group that carried the evidence */
  readonly capture: number;
  readonly relation: Relation;
  readonly offset: number;
  readonly driftPpm: number;
  readonly uncertaintyFrames: number;
  readonly gain: number;
  readonly reason: string;
  /** file channels, 1-based: [of the capture, of the reference side] */
  readonly channelPair: readonly [number, number];
  readonly comparedFrames: number;
  readonly differingFrames: number;
}

export interface GroupJoin {
  readonly into: JoinedInto | null;
  /** what came of the attempt when it was refused */
  readonly tried: string | null;
}

type Positions = ReadonlyMap<number, CapturePosition>;

/** `mayResemble(a, b)`: captures with a channel in common and no final refusal. The reference's group comes first. */
export async function correlateGroups(
  inputs: readonly AlignInput[],
  groups: readonly Positions[],
  mayResemble: (a: number, b: number) => boolean,
  stop?: StopSignal,
): Promise<GroupJoin[]> {
  const cache = new FeatureCache(stop);
  const joins: GroupJoin[] = [];
  for (const g of groups.keys()) {
    let join: GroupJoin = { into: null, tried: null };
    for (let target = 0; target < g && join.into === null; target++) {
      // one step only: a copy of a copy is placed on the original's timeline or not at all
      if (joins[target].into !== null) continue;
      const next = await tryJoin(inputs, groups, { g, target }, mayResemble, cache, stop);
      join = { into: next.into, tried: next.tried ?? join.tried };
    }
    joins.push(join);
  }
  return joins;
}

async function tryJoin(
  inputs: readonly AlignInput[],
  groups: readonly Positions[],
  { g, target }: { g: number; target: number },
  mayResemble: (a: number, b: number) => boolean,
  cache: FeatureCache,
  stop?: StopSignal,
): Promise<GroupJoin> {
  let tried: string | null = null;
  for (const own of groups[g].keys()) {
    for (const other of groups[target].keys()) {
      if (!mayResemble(own, other)) continue;
      throwIfStopped(stop);
      const raw = [inputs[own].source, inputs[other].source] as const;
      const sides = [own, other].map((index, i) => ({ index, source: heldOverSource(raw[i]) }));
      const allowed = commonChannels(inputs[own], inputs[other]);
      const likeness = await findLikeness(sides[0], sides[1], allowed, cache, stop);
      if (typeof likeness === 'string') {
        tried = likeness;
        continue;
      }
      const judged = await judgePlaces(raw, likeness, stop);
      if (typeof judged === 'string') {
        tried = judged;
        continue;
      }
      const at = { group: target, capture: own, other, pair: judged.pair };
      return { into: intoTimeline(groups, g, at, judged, sides[0].source.info.frames), tried: null };
    }
  }
  return { into: null, tried };
}

type Judged = Judgement & { readonly pair: ChannelPair };

/** A rival place that leaves hardly more than the best makes the choice a guess. */
const RIVAL_REST = 1.2;

/** Of several places the one that leaves least unexplained; the reason when none is the same recording, or two are alike. */
async function judgePlaces(
  [own, other]: readonly [FrameSource, FrameSource],
  places: readonly Likeness[],
  stop?: StopSignal,
): Promise<Judged | string> {
  const judged: Judged[] = [];
  for (const likeness of places) {
    const { pair } = likeness;
    const held = { own: heldOverSource(own), other: heldOverSource(other), pair };
    const exact = await asExact({ own, other, pair }, likeness, stop);
    judged.push({ ...(exact ?? (await classify(held, likeness, stop))), pair });
  }
  judged.sort((a, b) => Number(a.relation === 'unrelated') - Number(b.relation === 'unrelated') || a.rest - b.rest);
  const [best, second] = judged;
  if (best.relation === 'unrelated') return best.reason;
  if (second && second.relation !== 'unrelated' && second.rest <= best.rest * RIVAL_REST) {
    return (
      `the recording resembles itself: offsets ${best.map.offset.toFixed(0)} and ${second.map.offset.toFixed(0)} fit ` +
      'equally well, so the place is ambiguous'
    );
  }
  return best;
}

/** Fewest frames that must be equal, and windows in which, where a read has lost so much that no window is whole. */
const LEAST_EQUAL_FRAMES = 2000;
const LEAST_EQUAL_WINDOWS = 16;
/** Covered losses shift the likeness by a sample or two: so far around it the equal place is looked for. */
const NEAR_FRAMES = 3;

/**
 * Reads that mark lost samples (a head away for the whole tape) share no whole window; the samples that both have must all be equal, at one
 * offset and no other.
 */
async function asExact(sides: PairSides, likeness: Likeness, stop?: StopSignal): Promise<Judgement | null> {
  const { own, other, pair } = sides;
  const { map } = likeness;
  const span = own.info.frames;
  const isMarked = own.info.lostValue !== undefined || other.info.lostValue !== undefined;
  if (!isMarked || Math.abs(map.slope - 1) * span > NEAR_FRAMES) return null;
  const reader = new PairReader(own, other, [pair]);
  const near = Math.round(mapFrame(map, span / 2) - span / 2);
  const found: Judgement[] = [];
  for (let offset = near - NEAR_FRAMES; offset <= near + NEAR_FRAMES; offset++) {
    const compared = await compareAlong(reader, [{ start: 0, length: span, offset }], stop);
    if (isAllEqual(compared)) found.push(exactJudgement({ ...map, slope: 1, offset }, compared));
  }
  return found.length === 1 ? found[0] : null;
}

function isAllEqual({ comparedFrames, differingFrames, windows, equalWindows }: Comparison): boolean {
  const isMuch = comparedFrames >= LEAST_EQUAL_FRAMES && windows >= LEAST_EQUAL_WINDOWS;
  return isMuch && differingFrames === 0 && equalWindows === windows;
}

function exactJudgement(map: FittedMap, { comparedFrames, differingFrames }: Comparison): Judgement {
  return {
    ...{ relation: 'bit-equal', map, gain: 1, uncertaintyFrames: 0, rest: 0, comparedFrames, differingFrames },
    reason: `found by likeness; all ${comparedFrames} samples that both have where they were compared are equal, lost ones left out`,
  };
}

/** The pair's map carried over to both groups' timelines, exact at the middle of the capture. */
function intoTimeline(
  groups: readonly Positions[],
  g: number,
  at: { group: number; capture: number; other: number; pair: readonly [number, number] },
  judged: Judgement,
  frames: number,
): JoinedInto {
  const own = groups[g].get(at.capture);
  const other = groups[at.group].get(at.other);
  const frame = judged.map.slope === 1 ? 0 : frames / 2;
  const there = frame * judged.map.slope + judged.map.offset;
  const ownTime = frame + (own ? offsetAt(own, frame) : 0);
  const otherTime = there + (other ? offsetAt(other, there) : 0);
  return {
    group: at.group,
    capture: at.capture,
    relation: judged.relation,
    offset: otherTime - ownTime * judged.map.slope,
    driftPpm: (judged.map.slope - 1) * 1e6,
    uncertaintyFrames: judged.uncertaintyFrames,
    gain: judged.gain,
    reason: judged.reason,
    channelPair: [at.pair[0] + 1, at.pair[1] + 1],
    comparedFrames: judged.comparedFrames,
    differingFrames: judged.differingFrames,
  };
}

// Places captures on one timeline. Exact equality of the samples first; where there is none, correlation says how far a
// capture is the same recording; where there is no evidence at all the join is refused with the reason.
import {
  type FrameInfo,
  type Progress,
  type StopSignal,
  sameRate,
  secondsOf,
  TapeproofError,
  throwIfStopped,
} from '../base/index.ts';
import { type AnchorSet, collectAnchors } from './anchor-set.ts';
import { commonChannels } from './channels.ts';
import { correlateGroups, type GroupJoin } from './correlate-groups.ts';
import { gainOfDiffering } from './gain.ts';
import { sortAnchors } from './match.ts';
import { attributeSlips } from './owners.ts';
import { type Candidate, linkPair, type PairLink } from './pair-link.ts';
import { type AlignInput, type Alignment, type Placement, RELATIONS, type Relation, type Slip } from './placement.ts';
import { type CapturePosition, findConflicts, placeGroup, segmentsOf } from './timeline.ts';

export interface AlignOptions {
  /** one per input, as `beginAnchors` gave them; without them every source is read once more */
  readonly anchors?: readonly AnchorSet[] | undefined;
  /** index of the capture whose frame 0 is timeline frame 0; default 0 */
  readonly reference?: number | undefined;
  readonly stop?: StopSignal | undefined;
  readonly progress?: Progress | undefined;
}

interface Refusal {
  readonly refused: string;
  readonly isFinal: boolean;
}

interface Evidence {
  readonly links: PairLink[];
  /** why a pair has no exact link, by "own,other" */
  readonly refusals: Map<string, Refusal>;
}

/** Throws `input` for an impossible reference or anchors that do not belong to the inputs, `cancelled` on stop. */
export async function align(inputs: readonly AlignInput[], options: AlignOptions = {}): Promise<Alignment> {
  const reference = options.reference ?? 0;
  check(inputs, options, reference);
  if (inputs.length === 0) return { reference: 0, placements: [], slips: [], loops: [], groups: [] };
  const candidates = await candidatesOf(inputs, options);
  const { links, refusals } = await gatherEvidence(inputs, candidates, options);
  const sources = inputs.map((input) => input.source);
  const passes = inputs.map((input, n) => input.pass ?? `capture ${n}`);
  const slips = await attributeSlips(links, sources, passes);
  const exact = exactGroups(inputs.length, reference, links, slips);
  const mayResemble = (a: number, b: number) => refusals.get(`${Math.max(a, b)},${Math.min(a, b)}`)?.isFinal === false;
  const joins = await correlateGroups(inputs, exact, mayResemble, options.stop);
  const loops = exact.flatMap((positions) => findConflicts(positions, links, (c) => sources[c].info.name));
  return summarise({ inputs, reference, exact, joins, refusals, slips, loops });
}

function check(inputs: readonly AlignInput[], options: AlignOptions, reference: number): void {
  if (inputs.length > 0 && !inputs[reference]) {
    throw new TapeproofError('input', 'no such reference capture', {
      expected: `0 to ${inputs.length - 1}`,
      found: String(reference),
    });
  }
  for (const [n, input] of inputs.entries()) {
    const { channels, name } = input.source.info;
    if (input.channels && input.channels.length !== channels) {
      throw new TapeproofError('input', `${name}: the channel map does not fit the file`, {
        expected: `${channels} channels`,
        found: `${input.channels.length} in the map`,
        next: 'give one tape channel for each file channel, 0 where it is not used',
      });
    }
    if (options.anchors && options.anchors[n]?.channels.length !== channels) {
      throw new TapeproofError('input', `${name}: the anchors are not those of this capture`);
    }
  }
}

async function candidatesOf(inputs: readonly AlignInput[], options: AlignOptions): Promise<Candidate[]> {
  const candidates: Candidate[] = [];
  for (const [index, { source }] of inputs.entries()) {
    const set = options.anchors?.[index] ?? (await collectAnchors(source, options));
    const level = Math.max(...set.channels.map((list) => list.level), 0);
    candidates.push({ index, source, anchors: set.channels.map(sortAnchors), level });
  }
  return candidates;
}

/** The later capture of a pair is the own side, so that offsets lead towards the earlier one. */
async function gatherEvidence(
  inputs: readonly AlignInput[],
  candidates: readonly Candidate[],
  options: AlignOptions,
): Promise<Evidence> {
  const evidence: Evidence = { links: [], refusals: new Map() };
  const total = (inputs.length * (inputs.length - 1)) / 2;
  let done = 0;
  for (const own of candidates) {
    for (const other of candidates.slice(0, own.index)) {
      throwIfStopped(options.stop);
      const allowed = commonChannels(inputs[own.index], inputs[other.index]);
      const outcome =
        allowed.length === 0
          ? { refused: NO_CHANNEL, isFinal: true }
          : await linkPair(own, other, allowed, options.stop);
      if ('link' in outcome) evidence.links.push(outcome.link);
      else evidence.refusals.set(`${own.index},${other.index}`, outcome);
      options.progress?.({ stage: 'matching captures', done: ++done, total, unit: 'items' });
    }
  }
  return evidence;
}

const NO_CHANNEL = 'no tape channel in common';

/** Captures that exact links hold together, the reference's group first, each with its own timeline. */
function exactGroups(
  count: number,
  reference: number,
  links: readonly PairLink[],
  slips: readonly Slip[],
): ReadonlyMap<number, CapturePosition>[] {
  const groups: ReadonlyMap<number, CapturePosition>[] = [];
  const order = [reference, ...Array.from({ length: count }, (_, n) => n)];
  for (const capture of order) {
    if (groups.some((group) => group.has(capture))) continue;
    groups.push(placeGroup(capture, links, slips));
  }
  return groups;
}

interface Gathered {
  readonly inputs: readonly AlignInput[];
  readonly reference: number;
  readonly exact: readonly ReadonlyMap<number, CapturePosition>[];
  readonly joins: readonly GroupJoin[];
  readonly refusals: ReadonlyMap<string, Refusal>;
  readonly slips: readonly Slip[];
  readonly loops: Alignment['loops'];
}

function summarise(all: Gathered): Alignment {
  const heads = all.exact.map((_, g) => g).filter((g) => all.joins[g].into === null);
  const headOf = (g: number): number => {
    const into = all.joins[g].into;
    return into === null ? g : headOf(into.group);
  };
  const placements: Placement[] = [];
  for (const [g, positions] of all.exact.entries()) {
    const group = heads.indexOf(headOf(g));
    for (const position of positions.values()) placements.push(placementOf(all, g, position, group));
  }
  placements.sort((a, b) => a.capture - b.capture);
  const groups = heads.map((_, group) => placements.filter((p) => p.group === group).map((p) => p.capture));
  return { reference: all.reference, placements, slips: all.slips, loops: all.loops, groups };
}

function placementOf(all: Gathered, g: number, position: CapturePosition, group: number): Placement {
  const { info } = all.inputs[position.capture].source;
  const exact = exactPlacement(all, g, position, group);
  const { into } = all.joins[g];
  if (into === null) return exact;
  const scale = 1 + into.driftPpm * 1e-6;
  const segments = segmentsOf(position, info.frames).map((s) => ({
    start: s.start,
    length: s.length,
    offset: 0 + Math.round((s.start + s.offset) * scale + into.offset) - s.start,
  }));
  const isEntry = position.capture === into.capture;
  return {
    ...exact,
    relation: weaker(exact.relation, into.relation),
    segments,
    driftPpm: into.driftPpm,
    uncertaintyFrames: into.uncertaintyFrames,
    method: isEntry ? 'correlation' : exact.method,
    reason: isEntry ? into.reason : `${exact.reason}; placed with ${nameOf(all, into.capture)}: ${into.reason}`,
    gain: exact.gain * into.gain,
    comparedFrames: isEntry ? into.comparedFrames : exact.comparedFrames,
    differingFrames: isEntry ? into.differingFrames : exact.differingFrames,
    channelPairs: isEntry ? [into.channelPair] : exact.channelPairs,
  };
}

function exactPlacement(all: Gathered, g: number, position: CapturePosition, group: number): Placement {
  const { capture, via } = position;
  const { info } = all.inputs[capture].source;
  const common = {
    capture,
    segments: segmentsOf(position, info.frames),
    driftPpm: 0,
    uncertaintyFrames: 0,
    group,
  };
  if (!via) return headPlacement(all, g, common);
  const isOwn = via.own === capture;
  const partner = all.inputs[isOwn ? via.other : via.own].source.info;
  const gain = gainOfDiffering(via.comparison, info.bits, partner.bits);
  const factor = gain === null ? 1 : isOwn ? gain : 1 / gain;
  const path = pathGain(all.exact[g], isOwn ? via.other : via.own, all);
  const slipped = slipRate(
    all.slips.filter((slip) => slip.capture === capture),
    info,
  );
  return {
    ...common,
    relation: gain === null ? path.relation : weaker('scaled', path.relation),
    method: 'equal windows of samples',
    reason: exactReason(via, info, partner, gain) + slipped,
    gain: factor * path.gain,
    comparedFrames: via.comparison.comparedFrames,
    differingFrames: via.comparison.differingFrames,
    channelPairs: via.pairs.map(([a, b]) => (isOwn ? [a + 1, b + 1] : [b + 1, a + 1])),
  };
}

/** Relation and gain of the capture on the far side of a link, towards the group's reference. */
function pathGain(
  positions: ReadonlyMap<number, CapturePosition>,
  partner: number,
  all: Gathered,
): { relation: Relation; gain: number } {
  const via = positions.get(partner)?.via;
  if (!via) return { relation: 'bit-equal', gain: 1 };
  const isOwn = via.own === partner;
  const next = isOwn ? via.other : via.own;
  const gain = gainOfDiffering(via.comparison, all.inputs[partner].source.info.bits, all.inputs[next].source.info.bits);
  const before = pathGain(positions, next, all);
  if (gain === null) return before;
  return { relation: weaker('scaled', before.relation), gain: before.gain * (isOwn ? gain : 1 / gain) };
}

/** Slips of one direction at even spacing are an unlocked clock: the rate is what tells the user. */
function slipRate(slips: readonly Slip[], info: FrameInfo): string {
  if (slips.length < 3 || slips.some((slip) => slip.lostFrames > 0 !== slips[0].lostFrames > 0)) return '';
  const first = slips[0].at;
  const span = slips[slips.length - 1].at - first;
  const total = slips.slice(1).reduce((sum, slip) => sum + slip.lostFrames, 0);
  const ppm = (total / Math.max(1, span)) * 1e6;
  const every = secondsOf(span / (slips.length - 1), info.rate);
  return `; ${slips.length} slips one way, one in ${every.toFixed(2)} s on average: like a clock ${ppm.toFixed(2)} ppm off`;
}

function exactReason(link: PairLink, info: FrameInfo, partner: FrameInfo, gain: number | null): string {
  const { comparedFrames, differingFrames } = link.comparison;
  const parts = [
    `${link.matches} equal windows of 32 samples with ${partner.name}; ` +
      `of ${comparedFrames} frames compared along the placement ${differingFrames} differ`,
  ];
  if (gain !== null)
    parts.push(`the differing ones fit a gain of ${gain.toFixed(6)}: a scaled copy, equal only where it is quiet`);
  if (link.steps.length > 0) parts.push(`${link.steps.length} slips between the two`);
  if (!sameRate(info.rate, partner.rate))
    parts.push('the sampling rates in the headers differ although the samples are the same');
  return parts.join('; ');
}

type Common = Pick<Placement, 'capture' | 'segments' | 'driftPpm' | 'uncertaintyFrames' | 'group'>;

/** The capture whose own frames are its group's timeline; alone and refused, it lies on no known place. */
function headPlacement(all: Gathered, g: number, common: Common): Placement {
  const { into, tried } = all.joins[g];
  const empty = { gain: 1, comparedFrames: 0, differingFrames: 0, channelPairs: [] };
  if (g === 0) return { ...common, ...empty, relation: 'bit-equal', method: 'reference', reason: 'the reference' };
  const reason = refusal(refusalOf(all, g), tried, nameOf(all, all.reference));
  const isAlone = into === null && all.exact[g].size === 1 && !all.joins.some((join) => join.into?.group === g);
  if (!isAlone) return { ...common, ...empty, relation: 'bit-equal', method: 'reference of its group', reason };
  const nowhere = { segments: [], driftPpm: null, uncertaintyFrames: null };
  return { ...common, ...nowhere, ...empty, relation: 'unrelated', method: 'none', reason };
}

/** Why the exact search found nothing between this group and the reference's: the most telling of the pairs' reasons. */
function refusalOf(all: Gathered, g: number): string | undefined {
  const reasons = [...all.refusals].filter(([pair]) => {
    const [own, other] = pair.split(',').map(Number);
    return (all.exact[g].has(own) && all.exact[0].has(other)) || (all.exact[g].has(other) && all.exact[0].has(own));
  });
  return (reasons.find(([, r]) => r.refused !== NO_CHANNEL) ?? reasons[0])?.[1].refused;
}

function refusal(exact: string | undefined, tried: string | null, reference: string): string {
  const why = [exact, tried].filter((text) => text).join('; ');
  return (
    `not joined with ${reference}: ${why || 'no evidence'}. What would help: record one common channel on both recorders, ` +
    'time code, or a start pattern that all recorders receive'
  );
}

function nameOf(all: Gathered, capture: number): string {
  return all.inputs[capture].source.info.name;
}

function weaker(a: Relation, b: Relation): Relation {
  return RELATIONS[Math.max(RELATIONS.indexOf(a), RELATIONS.indexOf(b))];
}

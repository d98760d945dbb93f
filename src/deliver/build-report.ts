// Builds the report model from plain results: tallies, places, sentences, lanes and cautions are computed here and nowhere
// else, so that every face says the same. Reads no files, knows no clock (the date is passed in).
import type { Alignment } from '../align/index.ts';
import { PRODUCT, type Rate, rateHz, type Span, secondsOf, VERSION } from '../base/index.ts';
import type { PairAgreement } from '../reconcile/index.ts';
import { cautions, PROOF_STATEMENT } from './cautions.ts';
import { agreementStripe, eventLane } from './columns.ts';
import type { DetectorRecord } from './documents.ts';
import { codeBookCharts, levelHistograms } from './evidence-charts.ts';
import { fateSpans, type IsLost, lossPlaces, tallyChannels } from './fates.ts';
import { isKindOfLoss, lostFramesOf } from './kinds.ts';
import { lossSentence, proofStatements } from './layman.ts';
import {
  type ChannelTally,
  type CodeBookChart,
  type EventLane,
  type LevelHistogram,
  type LossCount,
  type LossPlace,
  REPORT_SCHEMA,
  type RefusedJoin,
  type ReportCapture,
  type ReportMaster,
  type ReportRun,
  type ReportTape,
  type ReportTimeline,
  type ReportTotals,
  type TransferReport,
} from './report-model.ts';

/** One master: timeline frame `start` is its frame 0; runs are in its own frames, 0 .. length. */
export interface ReportGroup extends Span {
  readonly group: number;
  readonly rate: Rate;
  readonly runs: readonly ReportRun[];
  readonly agreement?: readonly PairAgreement[];
  /** what was kept out of this master, and why */
  readonly problems?: readonly string[];
  readonly master?: Omit<ReportMaster, 'group' | 'start'>;
}

export interface ReportInput {
  /** ISO 8601 */
  readonly date: string;
  readonly tape: ReportTape;
  readonly captures: readonly ReportCapture[];
  readonly alignment: Alignment;
  readonly groups: readonly ReportGroup[];
  /** which runs hold no sample of the tape; without it what the runs say themselves */
  readonly isLost?: IsLost;
  readonly detectors: readonly DetectorRecord[];
  /** limits beyond those the verdicts state */
  readonly detectionLimits?: readonly string[];
  /** charts other than those that the verdicts' evidence gives */
  readonly levels?: readonly LevelHistogram[];
  readonly codeBooks?: readonly CodeBookChart[];
  /** where the sheet and the samples say different things */
  readonly contradictions?: readonly string[];
  /** cautions beyond those that follow from the results */
  readonly cautions?: readonly string[];
}

/** Stretches of loss closer than this are one place for the listener. Own choice, no source. */
const PLACE_GAP_SECONDS = 0.1;

export function buildReport(input: ReportInput): TransferReport {
  const isLost = input.isLost ?? ((run) => run.lost ?? run.source === null);
  const several = input.groups.length > 1;
  const timelines = input.groups.map(({ group, start, length, rate }) => ({ group, start, length, rate }));
  const channels = input.groups.flatMap((group) => tallyChannels(group, isLost, group.rate));
  const lost = input.groups.flatMap((group) => fateSpans(group, isLost));
  const isUnproven: IsLost = (run) => run.state === 'unproven' && !isLost(run);
  const places = input.groups.flatMap((group) =>
    lossPlaces(lost, group.group, Math.round(PLACE_GAP_SECONDS * rateHz(group.rate))),
  );
  const masters = input.groups.flatMap(({ group, start, master }) => (master ? [{ group, start, ...master }] : []));
  const { captures, alignment } = input;
  const { slips, loops: loopConflicts } = alignment;
  const refusedJoins = refused(captures, alignment);
  const facts = { timelines, places, channels, captures, alignment, masters, slips, loopConflicts, refusedJoins };
  return {
    schema: REPORT_SCHEMA,
    product: PRODUCT,
    version: VERSION,
    date: input.date,
    tape: input.tape,
    sentence: lossSentence(facts),
    statements: proofStatements(facts),
    proof: PROOF_STATEMENT,
    totals: totals(timelines, channels, places),
    channels,
    timelines,
    masters,
    places,
    lost,
    unproven: input.groups.flatMap((group) => fateSpans(group, isUnproven)),
    captures,
    alignment,
    slips,
    loopConflicts,
    refusedJoins,
    agreement: input.groups.flatMap(({ group, agreement = [] }) => agreement.map((pair) => ({ group, ...pair }))),
    leftOut: input.groups.flatMap(({ problems = [] }) => problems),
    contradictions: [...(input.contradictions ?? []), ...captures.flatMap(flagContradictions)],
    losses: captures.flatMap(countLosses),
    detectors: input.detectors,
    detectionLimits: limits(captures, input.detectionLimits ?? []),
    cautions: [...cautions(facts), ...(input.cautions ?? [])],
    lanes: captures.flatMap((_, capture) => lanesOf(input, capture)).sort(byChannel),
    stripes: channels.map((tally) => stripe(input.groups, tally, isLost)),
    levels: input.levels ?? levelHistograms(captures),
    codeBooks: input.codeBooks ?? codeBookCharts(captures),
    provenance: input.groups.flatMap(({ group, runs }) => runs.map((run) => (several ? { group, ...run } : run))),
  };
}

function totals(
  timelines: readonly ReportTimeline[],
  channels: readonly ChannelTally[],
  places: readonly LossPlace[],
): ReportTotals {
  const sum = <T>(list: readonly T[], value: (item: T) => number) => list.reduce((all, item) => all + value(item), 0);
  const rateOf = new Map(timelines.map((line) => [line.group, line.rate]));
  const secondsIn = (group: number, frames: number) => {
    const at = rateOf.get(group);
    return at ? secondsOf(frames, at) : 0;
  };
  return {
    frames: sum(timelines, (line) => line.length),
    seconds: sum(timelines, (line) => secondsOf(line.length, line.rate)),
    lostFrames: sum(places, (place) => place.lostFrames),
    lostSeconds: sum(places, (place) => secondsIn(place.group, place.lostFrames)),
    channelFrames: sum(channels, (tally) => tally.frames),
    proven: sum(channels, (tally) => tally.proven),
    chosen: sum(channels, (tally) => tally.chosen),
    unproven: sum(channels, (tally) => tally.unproven),
    lost: sum(channels, (tally) => tally.lost),
  };
}

/** Every group but the reference's was refused; the reasons are those of its placements. */
function refused(captures: readonly ReportCapture[], alignment: Alignment): RefusedJoin[] {
  return alignment.groups.slice(1).map((members, i) => {
    const reasons = alignment.placements.filter((p) => members.includes(p.capture)).map((p) => p.reason);
    return {
      group: i + 1,
      captures: members.map((member) => captures[member].path),
      reason: [...new Set(reasons.filter((reason) => reason !== ''))].join(' '),
    };
  });
}

function flagContradictions({ path, interface: said }: ReportCapture): string[] {
  return (said?.contradictions ?? []).map(({ text }) => `${path}: ${text}`);
}

function countLosses(capture: ReportCapture, index: number): LossCount[] {
  const counts = new Map<string, { fileChannel: number; kind: string; count: number; frames: number }>();
  for (const finding of capture.findings) {
    if (!isKindOfLoss(finding.kind)) continue;
    for (const fileChannel of finding.channels) {
      const key = `${fileChannel} ${finding.kind}`;
      const { count = 0, frames = 0 } = counts.get(key) ?? {};
      counts.set(key, { fileChannel, kind: finding.kind, count: count + 1, frames: frames + lostFramesOf(finding) });
    }
  }
  return [...counts.values()]
    .sort((a, b) => a.fileChannel - b.fileChannel || (a.kind < b.kind ? -1 : 1))
    .map(({ fileChannel, kind, count, frames }) => ({
      capture: index,
      fileChannel,
      channel: capture.channels[fileChannel - 1] ?? 0,
      kind,
      count,
      frames,
      seconds: secondsOf(frames, capture.rate),
    }));
}

function limits(captures: readonly ReportCapture[], more: readonly string[]): string[] {
  const stated = captures.flatMap((capture) =>
    capture.verdicts
      .filter((verdict) => verdict.detectionLimit !== '')
      .map((verdict) => `${verdict.question}: ${verdict.detectionLimit}`),
  );
  return [...new Set([...more, ...stated])];
}

function lanesOf({ captures, alignment, groups }: ReportInput, capture: number): EventLane[] {
  const placement = alignment.placements.find((candidate) => candidate.capture === capture);
  const extent = groups.find((group) => group.group === placement?.group);
  if (!placement || !extent) return [];
  const { channels, findings } = captures[capture];
  const slips = alignment.slips.filter((slip) => slip.capture === capture);
  // What lies between two frames has no length of its own; its mark stands at the second.
  const marked = findings.map((finding) => (finding.length === 0 ? { ...finding, length: 1 } : finding));
  const events = [...marked, ...slips.map(({ at }) => ({ kind: 'slip', channels: [], start: at, length: 1 }))];
  return channels.flatMap((channel, i) =>
    channel > 0 ? [eventLane({ channel, capture, fileChannel: i + 1 }, events, placement, extent)] : [],
  );
}

function byChannel(a: EventLane, b: EventLane): number {
  return a.group - b.group || a.channel - b.channel || a.capture - b.capture;
}

function stripe(groups: readonly ReportGroup[], { group, channel }: ChannelTally, isLost: IsLost) {
  const own = groups.find((candidate) => candidate.group === group);
  if (!own) throw new Error(`no group ${group}`);
  return agreementStripe(group, channel, own.runs, own.length, isLost);
}

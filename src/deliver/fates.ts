// What became of the frames of each channel: tallies, spans and places of loss from provenance runs. Sums are exact in
// frames. Not for words.
import { mergeSpans, type Rate, type Span, secondsOf, spanEnd, totalLength } from '../base/index.ts';
import type { ChannelTally, FateSpan, LossPlace, ReportRun } from './report-model.ts';

/** Runs of one group (one timeline, one master). */
export interface GroupRuns {
  readonly group: number;
  readonly runs: readonly ReportRun[];
}

export type IsLost = (run: ReportRun) => boolean;

/** One row per channel, channels ascending. */
export function tallyChannels({ group, runs }: GroupRuns, isLost: IsLost, at: Rate): ChannelTally[] {
  return [...byChannel(runs)].map(([channel, own]) => {
    const sum = (keep: (run: ReportRun) => boolean) => totalLength(own.filter(keep));
    const frames = totalLength(own);
    const states = {
      proven: sum((run) => run.state === 'proven'),
      chosen: sum((run) => run.state === 'chosen'),
      unproven: sum((run) => run.state === 'unproven'),
    };
    const notCaptured = sum((run) => run.source === null && !isLost(run));
    return { group, channel, frames, ...states, lost: sum(isLost), notCaptured, seconds: secondsOf(frames, at) };
  });
}

/** Runs that `keep` accepts, touching neighbours of the same reason joined; ordered by channel, then start. */
export function fateSpans({ group, runs }: GroupRuns, keep: IsLost): FateSpan[] {
  const out: FateSpan[] = [];
  for (const [channel, own] of byChannel(runs)) {
    for (const run of own.filter(keep)) {
      const last = out.at(-1);
      if (last && last.channel === channel && last.reason === run.reason && spanEnd(last) === run.start) {
        out[out.length - 1] = { ...last, length: last.length + run.length };
      } else out.push({ group, channel, start: run.start, length: run.length, reason: run.reason });
    }
  }
  return out;
}

/**
 * Lost spans of all channels of one group gathered into places: stretches at most `gapFrames` apart are one place.
 * The `lostFrames` of the places sum to the frames at which at least one channel is lost.
 */
export function lossPlaces(lost: readonly FateSpan[], group: number, gapFrames: number): LossPlace[] {
  const own = lost.filter((span) => span.group === group);
  const union = mergeSpans(own);
  const places = mergeSpans(union, gapFrames);
  const lostFrames = assign(places, union).map(totalLength);
  const channels = assign(
    places,
    [...own].sort((a, b) => a.start - b.start),
  ).map((spans) => [...new Set(spans.map((span) => span.channel))].sort((a, b) => a - b));
  return places.map((place, i) => ({ group, ...place, lostFrames: lostFrames[i], channels: channels[i] }));
}

function byChannel(runs: readonly ReportRun[]): [number, ReportRun[]][] {
  const channels = new Map<number, ReportRun[]>();
  for (const run of runs) {
    const own = channels.get(run.channel);
    if (own) own.push(run);
    else channels.set(run.channel, [run]);
  }
  for (const own of channels.values()) own.sort((a, b) => a.start - b.start);
  return [...channels].sort(([a], [b]) => a - b);
}

/** Spans (sorted by start) dealt to the places that hold them. */
function assign<T extends Span>(places: readonly Span[], spans: readonly T[]): T[][] {
  const dealt: T[][] = places.map(() => []);
  let i = 0;
  for (const span of spans) {
    while (i < places.length - 1 && spanEnd(places[i]) < spanEnd(span)) i++;
    dealt[i]?.push(span);
  }
  return dealt;
}

// The sentences a layman reads first. Every figure comes from the same lists that stand below them; nothing is claimed
// beyond what was measured. Not for evidence.
import { formatTime } from '../base/index.ts';
import { countOf, formatChannels, formatDuration, formatSeconds, formatShare } from './plain-words.ts';
import type { ChannelTally, LossPlace, ReportCapture, ReportTimeline, TransferReport } from './report-model.ts';

/** Places named in the sentence itself; the rest is counted and stands in the list. */
export const PLACES_IN_SENTENCE = 5;

type Facts = Pick<TransferReport, 'timelines' | 'places' | 'channels' | 'captures' | 'refusedJoins' | 'slips'>;

export function lossSentence({ timelines, places }: Pick<Facts, 'timelines' | 'places'>): string {
  const whole = sumSeconds(timelines.map((line) => ({ frames: line.length, line })));
  if (timelines.every((line) => line.length === 0)) return 'No recording could be assembled; nothing is proven.';
  if (places.length === 0) {
    return `Nothing is known to be missing from ${whole}; what could not have been seen is stated under detection limits.`;
  }
  const lost = sumDurations(timelines, places);
  const named = [...places].sort((a, b) => b.lostFrames - a.lostFrames).slice(0, PLACES_IN_SENTENCE);
  const inOrder = places.filter((place) => named.includes(place)).map((place) => namePlace(place, timelines));
  const rest = places.length - inOrder.length;
  const where =
    rest === 0 ? `at ${inOrder.join(', ')}` : `in ${places.length} places, the longest at ${inOrder.join(', ')}`;
  return `${lost} of ${whole} could not be recovered, ${where}.`;
}

/** Sentences after the first: proof by second reads, refused joins, slips, files that ended early. */
export function proofStatements(facts: Facts): string[] {
  const several = facts.timelines.length > 1;
  const perGroup = facts.timelines.flatMap((line) => {
    const own = facts.channels.filter((tally) => tally.group === line.group);
    const name = several ? `Part ${line.group + 1}: ` : '';
    return channelStatements(own, line).map((text) => name + text);
  });
  const joins = facts.refusedJoins.map(
    (join) => `Not joined with the rest: ${join.captures.join(', ')}. ${join.reason}`,
  );
  const slips = facts.slips.length
    ? [`${countOf(facts.slips.length, 'slip')} (samples lost or repeated by the chain) found and placed; see the list.`]
    : [];
  const partial = facts.captures.filter((capture) => capture.readAs === 'partial').map(describePartial);
  return [...perGroup, ...joins, ...slips, ...partial];
}

/** "0:12:03.120" in the part's master. */
export function timeInPart(frame: number, group: number, timelines: readonly ReportTimeline[]): string {
  const line = timelines.find((candidate) => candidate.group === group);
  return line ? formatTime(frame, line.rate) : `frame ${frame}`;
}

function namePlace(place: LossPlace, timelines: readonly ReportTimeline[]): string {
  const line = timelines.find((candidate) => candidate.group === place.group);
  const part = timelines.length > 1 ? ` of part ${place.group + 1}` : '';
  const amount = line ? formatDuration(place.lostFrames, line.rate) : countOf(place.lostFrames, 'sample');
  return `${timeInPart(place.start, place.group, timelines)}${part} (${amount}, ${formatChannels(place.channels)})`;
}

function channelStatements(tallies: readonly ChannelTally[], line: ReportTimeline): string[] {
  const single = tallies.filter((tally) => tally.proven === 0);
  const whole = tallies.filter((tally) => tally.proven > 0 && tally.proven === tally.frames);
  const mixed = tallies.filter((tally) => tally.proven > 0 && tally.proven < tally.frames);
  const out: string[] = [];
  if (whole.length) {
    out.push(`On ${names(whole)} every sample is equal in at least two independent reads.`);
  }
  for (const tally of mixed) out.push(mixedStatement(tally, line));
  if (single.length) out.push(`No sample is vouched for by a second read on ${names(single)}.`);
  return out;
}

function mixedStatement(tally: ChannelTally, line: ReportTimeline): string {
  const parts = [`${formatShare(tally.proven, tally.frames)} is equal in at least two independent reads`];
  if (tally.chosen) parts.push(`${formatDuration(tally.chosen, line.rate)} is a judged choice`);
  if (tally.unproven) parts.push(`${formatDuration(tally.unproven, line.rate)} is unproven`);
  if (tally.notCaptured) {
    parts.push(`${formatDuration(tally.notCaptured, line.rate)} of that lies before or after its captures`);
  }
  if (tally.lost) parts.push(`of all this, ${formatDuration(tally.lost, line.rate)} is lost`);
  return `On channel ${tally.channel}, ${parts.join('; ')}.`;
}

function names(tallies: readonly ChannelTally[]): string {
  return formatChannels(tallies.map((tally) => tally.channel));
}

function describePartial(capture: ReportCapture): string {
  return `${capture.path} could be read only in part: ${formatSeconds(capture.frames, capture.rate)} were read; see its problems.`;
}

function sumDurations(timelines: readonly ReportTimeline[], places: readonly LossPlace[]): string {
  const first = timelines[0].rate;
  const frames = places.reduce((sum, place) => sum + place.lostFrames, 0);
  if (timelines.every((line) => line.rate.num === first.num && line.rate.den === first.den)) {
    return formatDuration(frames, first);
  }
  return sumSeconds(
    timelines.map((line) => ({
      line,
      frames: places.reduce((sum, place) => sum + (place.group === line.group ? place.lostFrames : 0), 0),
    })),
  );
}

function sumSeconds(parts: readonly { frames: number; line: ReportTimeline }[]): string {
  const seconds = parts.reduce((sum, { frames, line }) => sum + (frames * line.rate.den) / line.rate.num, 0);
  return `${seconds.toFixed(2)} s`;
}

// What a tape says of itself, as rows for people: one line for each question, once for all faces. Prints facts, judges nothing.
import { formatRate, formatTime, rate } from '../base/index.ts';
import type { CarrierFacts, DatFacts, DvFacts } from '../media/index.ts';
import type { CaptureFiles } from './documents.ts';
import { countOf } from './plain-words.ts';
import type { TextColumn } from './text-table.ts';

export const CARRIER_COLUMNS: readonly TextColumn[] = [
  { header: 'of the tape' },
  { header: 'what it says', flexible: true },
];

type LabelFacts = DvFacts['timecode'];

/** Runs of time code and recordings that are named; the JSON has all. */
const MOST_NAMED = 5;

export function carrierRows({ carrier = [] }: CaptureFiles): string[][] {
  return carrier.flatMap((facts, i) =>
    rowsOf(facts).map(([question, answer]) => [carrier.length > 1 ? `part ${i + 1}: ${question}` : question, answer]),
  );
}

function rowsOf(facts: CarrierFacts): [string, string][] {
  return facts.kind === 'dv' ? dvRows(facts) : datRows(facts);
}

function dvRows(facts: DvFacts): [string, string][] {
  return [
    ['recording', recordingText(facts)],
    ['true rate', trueRateText(facts)],
    ['emphasis', emphasisText(facts)],
    ['copying', countsText(facts.flags.copy, 'not said')],
    ['speed', speedText(facts)],
    ['time code', labelText(facts.timecode, facts.tapeFrames)],
    ['recorded', recordedText(facts)],
    ['lost by track', lostText(facts)],
  ];
}

function datRows(facts: DatFacts): [string, string][] {
  const { rateHz, word, tapeFrames, emphasisFrames, interpolatedFrames, wideTrackFrames, badPacks } = facts;
  const [left, right] = interpolatedFrames;
  const wide = wideTrackFrames > 0 ? `, wide tracks in ${wideTrackFrames}` : '';
  const emphasis = emphasisFrames === 0 ? 'off' : `ON (50/15 us) in ${emphasisFrames} of ${tapeFrames} frames`;
  return [
    ['recording', `${word} bit, ${rateHz} Hz, ${countOf(tapeFrames, 'frame')}${wide}`],
    ['emphasis', emphasis],
    ['copying', countsText(facts.copy, 'not said')],
    ['absolute time', labelText(facts.absoluteTime, tapeFrames)],
    ['programmes', programmeText(facts)],
    ['recorded', facts.recorded ? `${facts.recorded.date} ${facts.recorded.time}` : 'at no known time'],
    ...(facts.professionalTime ? [['time code', `from ${facts.professionalTime}`] as [string, string]] : []),
    [
      'estimated by the drive',
      left + right > 0 ? `left in ${left}, right in ${right} frames` : 'nothing, by its flags',
    ],
    ...(badPacks > 0 ? [['subcode', `${countOf(badPacks, 'damaged pack')}`] as [string, string]] : []),
  ];
}

function programmeText({ programmes, startIds }: DatFacts): string {
  const named = programmes.list.filter(({ programme }) => programme !== null).slice(0, MOST_NAMED);
  const said = named.map(({ programme, firstFrame }) => `${programme} (from frame ${firstFrame})`);
  const rest = programmes.list.length + programmes.more - programmes.list.slice(0, MOST_NAMED).length;
  return `${said.join(', ') || 'not numbered'}${rest > 0 ? ' and more' : ''}; ${countOf(startIds.length, 'start ID')}`;
}

function recordingText(facts: DvFacts): string {
  const { system, application, word, rateHz, tapeFrames, difChannels, hasSecondPair } = facts;
  const pairs = word === 12 ? `, ${hasSecondPair ? 'both pairs' : 'only the first pair'} recorded` : '';
  const wide = difChannels > 1 ? ', 50 Mb/s' : '';
  return `${system}${wide}, ${application}, ${word} bit, ${rateHz} Hz${pairs}, ${countOf(tapeFrames, 'frame')}`;
}

function trueRateText({ trueRate, samplesPerFrame, flags }: DvFacts): string {
  if (!trueRate || !samplesPerFrame) return 'cannot tell: no frame says how many samples it has';
  const { fewest, most } = samplesPerFrame;
  const counts = fewest === most ? `${fewest}` : `${fewest} to ${most}`;
  const { ppm, uncertaintyPpm } = trueRate;
  return (
    `${flags.clock === 'changes' ? 'clock locked in some frames only' : `clock ${flags.clock}`}; ${counts} samples a frame, ` +
    `${formatRate(rate(trueRate.num, trueRate.den))} by the clock of the picture: ${ppm.toFixed(2)} ppm (within ${uncertaintyPpm.toFixed(2)})`
  );
}

function emphasisText({ flags, word, framesWithSound }: DvFacts): string {
  const [first, second] = flags.emphasisFrames;
  const name = word === 12 ? ['first pair', 'second pair'] : ['channel 1', 'channel 2'];
  const said = [first, second].map((on, i) => {
    if (on === 0) return `${name[i]} off`;
    return on >= framesWithSound ? `${name[i]} ON (50/15 us)` : `${name[i]} ON in ${on} of ${framesWithSound} frames`;
  });
  return said.join(', ');
}

function speedText({ flags, tapeFrames }: DvFacts): string {
  const { otherSpeedFrames, reverseFrames, framesWithoutControl } = flags;
  if (framesWithoutControl === tapeFrames) return 'not said';
  if (otherSpeedFrames === 0) return 'normal, forward';
  return `${otherSpeedFrames} of ${tapeFrames} frames at another speed, ${reverseFrames} of them backwards`;
}

function labelText(labels: LabelFacts, tapeFrames: number): string {
  if (labels.runs.length === 0) return 'none';
  const runs = labels.runs.slice(0, MOST_NAMED).map(({ from, to }) => `${from} to ${to}`);
  const rest = labels.runs.length + labels.moreRuns - runs.length;
  const without = labels.framesWithout > 0 ? `; ${labels.framesWithout} of ${tapeFrames} frames without` : '';
  return `${runs.join(', ')}${rest > 0 ? ` and ${countOf(rest, 'more run')}` : ''}${without}`;
}

function recordedText({ recordings, system }: DvFacts): string {
  const at = system === '525/60' ? rate(30_000, 1001) : rate(25);
  const said = recordings.list.slice(0, MOST_NAMED).map(({ date, time, firstFrame }) => {
    const when = date || time ? [date, time].filter(Boolean).join(' ') : 'at no known time';
    return `${when} (from ${formatTime(firstFrame, at)})`;
  });
  const rest = recordings.list.length + recordings.more - said.length;
  return `${said.join(', ')}${rest > 0 ? ` and ${countOf(rest, 'more recording')}` : ''}`;
}

/** "channel 1: track 0 1234, track 2 17". */
function lostText({ lostByTrack }: DvFacts): string {
  const channels = lostByTrack.flatMap((tracks, c) => {
    const some = tracks.flatMap((samples, track) => (samples > 0 ? [`track ${track} ${samples}`] : []));
    return some.length > 0 ? [`channel ${c + 1}: ${some.join(', ')}`] : [];
  });
  return channels.length > 0 ? `samples lost on ${channels.join('; ')}` : 'nothing';
}

function countsText(counts: Readonly<Record<string, number>>, none: string): string {
  const entries = Object.entries(counts);
  if (entries.length === 0) return none;
  const words = (word: string) => word.replaceAll('-', ' ');
  if (entries.length === 1) return words(entries[0][0]);
  return entries.map(([word, frames]) => `${words(word)} in ${countOf(frames, 'frame')}`).join(', ');
}

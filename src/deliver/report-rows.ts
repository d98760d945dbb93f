// The rows of every table of the report, once for all faces: text and HTML print the same cells. Long lists are cut to
// the most important rows and say how many more stand in report.json.
import { formatRate, formatTime } from '../base/index.ts';
import { timeInPart } from './layman.ts';
import {
  countOf,
  formatChannels,
  formatConfidence,
  formatDuration,
  formatSeconds,
  formatShare,
  formatValue,
  shortDigest,
} from './plain-words.ts';
import type { FateSpan, TransferReport } from './report-model.ts';
import type { TextColumn } from './text-table.ts';

/** Rows at most in a list of spans, places or provenance runs. */
export const MOST_ROWS = 200;

export interface ReportTable {
  readonly title: string;
  readonly columns: readonly TextColumn[];
  readonly rows: readonly (readonly string[])[];
  /** said below the table: what the columns mean, or how many rows were left out */
  readonly note?: string;
}

const right = (header: string): TextColumn => ({ header, align: 'right' });
const left = (header: string): TextColumn => ({ header });
const wide = (header: string): TextColumn => ({ header, flexible: true });

export function tapeFacts({ tape, totals, date, product, version }: TransferReport): [string, string][] {
  const known = (value: string | number | null, unit = '') => (value === null ? 'not stated' : `${value}${unit}`);
  return [
    ['Tape', tape.id],
    ['Format', tape.formatLabel ?? known(tape.format)],
    ['System', known(tape.system)],
    ['Word length on the sheet', known(tape.word, ' bits')],
    ['Rate on the sheet', tape.rate ? formatRate(tape.rate) : 'not stated'],
    ['Length', `${totals.seconds.toFixed(2)} s (${totals.frames} frames)`],
    ...(tape.notes === null ? [] : [['Notes', tape.notes] as [string, string]]),
    ['Report', `${date}, ${product} ${version}`],
  ];
}

export function tallyTable(report: TransferReport): ReportTable {
  const several = report.timelines.length > 1;
  return {
    title: 'Proof per channel',
    columns: [
      ...(several ? [right('part')] : []),
      right('channel'),
      right('frames'),
      right('proven'),
      right('proven %'),
      right('chosen'),
      right('unproven'),
      right('lost'),
    ],
    rows: report.channels.map((tally) => [
      ...(several ? [`${tally.group + 1}`] : []),
      `${tally.channel}`,
      `${tally.frames}`,
      `${tally.proven}`,
      formatShare(tally.proven, tally.frames),
      `${tally.chosen}`,
      `${tally.unproven}`,
      `${tally.lost}`,
    ]),
    note: 'In frames; proven, chosen and unproven add up to the frames of the channel. Lost frames are counted among them too.',
  };
}

export function placeTable(report: TransferReport): ReportTable {
  const shown = mostImportant(report.places, (place) => place.lostFrames);
  const rest = report.places.length - shown.length;
  const total = `All places together: ${report.totals.lostFrames} frames (${report.totals.lostSeconds.toFixed(4)} s).`;
  return {
    title: 'Places of loss',
    columns: [left('at'), right('lost'), right('lost frames'), right('within frames'), wide('channels')],
    rows: shown.map((place) => [
      timeIn(report, place),
      formatDuration(place.lostFrames, rateIn(report, place.group)),
      `${place.lostFrames}`,
      `${place.length}`,
      formatChannels(place.channels),
    ]),
    note: report.places.length ? `${total}${leftOut(rest, 'place')}` : 'No place of loss is known.',
  };
}

export function spanTable(report: TransferReport, which: 'lost' | 'unproven'): ReportTable {
  const shown = mostImportant(report[which], (span) => span.length);
  const rest = report[which].length - shown.length;
  return {
    title: which === 'lost' ? 'Lost, by channel' : 'Unproven, by channel',
    columns: [left('at'), right('length'), right('frames'), right('channel'), wide('reason')],
    rows: shown.map((span) => spanRow(report, span)),
    note: report[which].length ? leftOut(rest, 'span').trim() : 'None.',
  };
}

export function provenanceTable(report: TransferReport): ReportTable {
  const shown = mostImportant(report.provenance, (run) => (run.state === 'proven' ? 0 : run.length));
  const rest = report.provenance.length - shown.length;
  return {
    title: 'Provenance: which read gave each sample',
    columns: [left('at'), right('frames'), right('channel'), left('state'), wide('source'), wide('reason')],
    rows: shown.map((run) => [
      timeIn(report, { ...run, group: run.group ?? 0 }),
      `${run.length}`,
      `${run.channel}`,
      run.state,
      run.source
        ? `${report.captures[run.source.capture]?.path ?? '?'}, file channel ${run.source.fileChannel}`
        : 'silence',
      run.reason,
    ]),
    note: leftOut(rest, 'run').trim(),
  };
}

export function captureTable({ captures }: TransferReport): ReportTable {
  return {
    title: 'Captures',
    columns: [
      wide('file'),
      right('pass'),
      left('deck'),
      left('recorder'),
      left('channels'),
      left('container'),
      left('read'),
    ],
    rows: captures.map((capture) => [
      capture.path,
      `${capture.pass}`,
      capture.deck ?? '-',
      capture.recorder ?? '-',
      capture.channels.join(', '),
      `${capture.container} ${capture.containerBits} bit ${formatRate(capture.rate)}`,
      `${capture.readAs}, ${formatSeconds(capture.frames, capture.rate)}`,
    ]),
    note: 'Channels: the tape channel of each file channel in order; 0 is not used.',
  };
}

export function digestTable({ captures, masters }: TransferReport): ReportTable {
  const rows = [...masters, ...captures].flatMap(({ path, digests }) => [
    [path, 'file', digests.file.sha256],
    [path, 'audio', digests.audio.sha256],
  ]);
  return { title: 'Digests (SHA-256)', columns: [wide('file'), left('of'), left('digest')], rows };
}

export function problemTable({ captures }: TransferReport): ReportTable {
  const rows = captures.flatMap(({ path, problems }) =>
    problems.map(({ severity, message, offset }) => [
      path,
      severity,
      offset === undefined ? '-' : `${offset}`,
      message,
    ]),
  );
  return {
    title: 'Problems of the files',
    columns: [wide('file'), left('severity'), right('byte'), wide('problem')],
    rows,
    ...(rows.length ? {} : { note: 'None.' }),
  };
}

export function lossTable({ losses, captures }: TransferReport): ReportTable {
  return {
    title: 'Losses seen in each read',
    columns: [
      wide('file'),
      right('file channel'),
      right('channel'),
      left('kind'),
      right('events'),
      right('frames'),
      right('s'),
    ],
    rows: losses.map((loss) => [
      captures[loss.capture].path,
      `${loss.fileChannel}`,
      `${loss.channel}`,
      loss.kind,
      `${loss.count}`,
      `${loss.frames}`,
      loss.seconds.toFixed(4),
    ]),
    note: losses.length ? 'Before any choice among reads; another read may hold these samples.' : 'None seen.',
  };
}

export function verdictTable({ captures }: TransferReport): ReportTable {
  return {
    title: 'What the numbers say',
    columns: [wide('file'), right('file channel'), left('question'), wide('answer'), right('confidence')],
    rows: captures.flatMap(({ path, verdicts }) =>
      verdicts.map((verdict) => [
        path,
        verdict.channel === 0 ? 'all' : `${verdict.channel}`,
        verdict.question,
        formatValue(verdict.answer),
        formatConfidence(verdict.confidence),
      ]),
    ),
  };
}

export function placementTable({ alignment, captures }: TransferReport): ReportTable {
  return {
    title: 'Places of the captures on the timeline',
    columns: [
      wide('file'),
      right('part'),
      left('relation'),
      right('segments'),
      right('first offset'),
      right('drift'),
      wide('method and reason'),
    ],
    rows: alignment.placements.map((placement) => [
      captures[placement.capture]?.path ?? `${placement.capture}`,
      `${placement.group + 1}`,
      placement.relation,
      `${placement.segments.length}`,
      placement.segments.length ? `${placement.segments[0].offset}` : '-',
      placement.driftPpm === null ? '-' : `${placement.driftPpm} ppm`,
      `${placement.method}: ${placement.reason}`,
    ]),
    note: 'Offset: timeline frame minus capture frame.',
  };
}

export function agreementTable({ agreement, captures }: TransferReport): ReportTable {
  const name = ({ capture, fileChannel }: { capture: number; fileChannel: number }) =>
    `${captures[capture]?.path ?? '?'} (${fileChannel})`;
  return {
    title: 'Agreement of two reads',
    columns: [
      right('channel'),
      wide('read'),
      wide('other read'),
      right('frames in both'),
      right('equal'),
      right('equal %'),
    ],
    rows: agreement.map((pair) => [
      `${pair.channel}`,
      name(pair.a),
      name(pair.b),
      `${pair.comparedFrames}`,
      `${pair.equalFrames}`,
      formatShare(pair.equalFrames, pair.comparedFrames),
    ]),
    ...(agreement.length ? { note: 'In brackets: the channel of the file.' } : {}),
  };
}

export function slipTable({ slips, captures }: TransferReport): ReportTable {
  const shown = slips.slice(0, MOST_ROWS);
  return {
    title: 'Slips',
    columns: [wide('file'), left('at'), right('frame'), left('what'), wide('reason')],
    rows: shown.map((slip) => [
      captures[slip.capture].path,
      formatTime(slip.at, captures[slip.capture].rate),
      `${slip.at}`,
      slip.lostFrames > 0
        ? `${countOf(slip.lostFrames, 'sample')} lost`
        : `${countOf(-slip.lostFrames, 'sample')} repeated`,
      slip.reason,
    ]),
    note: slips.length ? `Times within the capture.${leftOut(slips.length - shown.length, 'slip')}` : 'None found.',
  };
}

export function loopTable({ loopConflicts, captures }: TransferReport): ReportTable {
  return {
    title: 'Loops of captures that do not add up',
    columns: [wide('captures'), right('excess frames'), right('at frame'), wide('reason')],
    rows: loopConflicts.map((loop) => [
      loop.captures.map((capture) => captures[capture].path).join(', '),
      `${loop.excessFrames}`,
      `${loop.at}`,
      loop.reason,
    ]),
    ...(loopConflicts.length ? {} : { note: 'None found.' }),
  };
}

export function masterTable({ masters }: TransferReport): ReportTable {
  return {
    title: 'Masters',
    columns: [
      wide('file'),
      left('container'),
      right('bits'),
      wide('true rate'),
      right('header Hz'),
      right('frames'),
      left('channels'),
      left('audio digest'),
    ],
    rows: masters.map((master) => [
      master.path,
      master.container,
      `${master.bits}`,
      formatRate(master.rate),
      `${master.headerRateHz}`,
      `${master.frames}`,
      master.channels.join(', '),
      shortDigest(master.digests.audio.sha256),
    ]),
    note: masters.length ? 'Channels: tape channels in file order.' : 'No master was written.',
  };
}

export function detectorTable({ detectors }: TransferReport): ReportTable {
  return {
    title: 'Detectors and their settings',
    columns: [left('detector'), right('version'), wide('settings')],
    rows: detectors.map((detector) => [
      detector.label,
      `${detector.version}`,
      detector.notApplicable ? `not run: ${detector.notApplicable}` : settingsText(detector.settings),
    ]),
  };
}

export function settingsText(settings: Readonly<Record<string, unknown>>): string {
  const parts = Object.entries(settings).map(([key, value]) => `${key} ${formatValue(value)}`);
  return parts.length ? parts.join(', ') : 'none';
}

/** "0:12:03.120", with the part where there are several. */
function timeIn(report: TransferReport, { start, group }: { start: number; group: number }): string {
  const part = report.timelines.length > 1 ? ` (part ${group + 1})` : '';
  return `${timeInPart(start, group, report.timelines)}${part}`;
}

function rateIn({ timelines }: TransferReport, group: number) {
  return (timelines.find((line) => line.group === group) ?? timelines[0]).rate;
}

function spanRow(report: TransferReport, span: FateSpan): string[] {
  const length = formatDuration(span.length, rateIn(report, span.group));
  return [timeIn(report, span), length, `${span.length}`, `${span.channel}`, span.reason];
}

/** The weightiest MOST_ROWS, in their old order. */
function mostImportant<T>(list: readonly T[], weight: (item: T) => number): readonly T[] {
  if (list.length <= MOST_ROWS) return list;
  const kept = new Set([...list].sort((a, b) => weight(b) - weight(a)).slice(0, MOST_ROWS));
  return list.filter((item) => kept.has(item));
}

function leftOut(rest: number, one: string): string {
  return rest > 0 ? ` ${countOf(rest, `more ${one}`)} in report.json; the longest are shown.` : '';
}

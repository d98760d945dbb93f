// The rows of the tables about proof and loss, once for all faces: text and HTML print the same cells. The tables about
// captures and method stand in capture-rows.
import { formatRate } from '../base/index.ts';
import { timeInPart } from './layman.ts';
import { formatChannels, formatDuration, formatShare } from './plain-words.ts';
import type { FateSpan, TransferReport } from './report-model.ts';
import { left, leftOut, mostImportant, type ReportTable, right, wide } from './report-table.ts';

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

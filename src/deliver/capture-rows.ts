// The rows of the tables about captures, masters and method, once for all faces of the report. The tables about proof and loss
// stand in report-rows.
import { formatRate, formatTime } from '../base/index.ts';
import { CARRIER_COLUMNS, carrierRows } from './carrier-rows.ts';
import { FLAG_COLUMNS, flagRows, interfaceLines } from './interface-rows.ts';
import { countOf, formatConfidence, formatSeconds, formatValue, shortDigest } from './plain-words.ts';
import type { TransferReport } from './report-model.ts';
import { left, leftOut, MOST_ROWS, type ReportTable, right, wide } from './report-table.ts';
import { captureName, PART_COLUMNS, partRows, readWithText } from './take-rows.ts';

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
      captureName(capture),
      `${capture.pass}`,
      capture.deck ?? '-',
      capture.recorder ?? '-',
      capture.channels.join(', '),
      `${capture.container} ${capture.containerBits} bit ${formatRate(capture.rate)}`,
      [`${capture.readAs}, ${formatSeconds(capture.frames, capture.rate)}`, readWithText(capture)]
        .filter((text) => text !== '')
        .join('; '),
    ]),
    note: 'Channels: the tape channel of each file channel in order; 0 is not used.',
  };
}

/** Captures of several files only. */
export function partTable({ captures }: TransferReport): ReportTable {
  return { title: 'Captures in several files', columns: PART_COLUMNS, rows: captures.flatMap(partRows) };
}

/** Captures that are images of the tape itself only. */
export function carrierTable({ captures }: TransferReport): ReportTable {
  const rows = captures.flatMap((capture) => carrierRows(capture).map((row) => [captureName(capture), ...row]));
  return { title: 'What the tapes say of themselves', columns: [wide('file'), ...CARRIER_COLUMNS], rows };
}

export function digestTable({ captures, masters }: TransferReport): ReportTable {
  const rows = [
    ...masters.flatMap(({ path, digests }) => [
      [path, 'file', digests.file.sha256],
      [path, 'audio', digests.audio.sha256],
    ]),
    ...captures.flatMap((capture) => [
      [captureName(capture), capture.parts ? 'all files' : 'file', capture.digests.file.sha256],
      [captureName(capture), 'audio', capture.digests.audio.sha256],
      ...(capture.parts ?? []).map(({ path, sha256 }) => [path, 'file', sha256]),
    ]),
  ];
  return { title: 'Digests (SHA-256)', columns: [wide('file'), left('of'), left('digest')], rows };
}

export function problemTable({ captures }: TransferReport): ReportTable {
  const rows = captures.flatMap(({ path, problems }) =>
    problems.map((problem) => [
      path,
      problem.severity,
      problem.offset === undefined ? '-' : `${problem.offset}`,
      problem.next === undefined ? problem.message : `${problem.message}; next: ${problem.next}`,
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

/** Only where the sheet gives what the interface said. */
export function flagTable({ captures }: TransferReport): ReportTable {
  const told = captures.flatMap(({ path, rate, interface: said }) => (said ? [{ path, rate, said }] : []));
  return {
    title: 'What the interface said',
    columns: [wide('file'), ...FLAG_COLUMNS],
    rows: told.flatMap(({ path, rate, said }) => flagRows(said, rate).map((row) => [path, ...row])),
    ...(told.length
      ? {
          note: told
            .flatMap(({ path, rate, said }) => interfaceLines(said, rate).map((line) => `${path}: ${line}.`))
            .join(' '),
        }
      : {}),
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

function settingsText(settings: Readonly<Record<string, unknown>>): string {
  const parts = Object.entries(settings).map(([key, value]) => `${key} ${formatValue(value)}`);
  return parts.length ? parts.join(', ') : 'none';
}

// report.txt: the report as plain text of at most 100 columns, the layman's sentence first. Prints the model, computes nothing.

import {
  captureTable,
  carrierTable,
  detectorTable,
  digestTable,
  flagTable,
  loopTable,
  lossTable,
  masterTable,
  partTable,
  placementTable,
  problemTable,
  slipTable,
  verdictTable,
} from './capture-rows.ts';
import { formatChannels, formatSeconds } from './plain-words.ts';
import type { TransferReport } from './report-model.ts';
import { agreementTable, placeTable, provenanceTable, spanTable, tallyTable, tapeFacts } from './report-rows.ts';
import type { ReportTable } from './report-table.ts';
import { textTable, wrapText } from './text-table.ts';

export function reportText(report: TransferReport): string {
  const blocks = [
    heading(`Transfer report: ${report.tape.id}`, '='),
    wrapText(report.sentence),
    ...report.statements.map((statement) => wrapText(statement)),
    textTable([{ header: 'fact' }, { header: 'value', flexible: true }], tapeFacts(report)),
    ...section(
      'What the words mean',
      Object.entries(report.proof.words).map(([word, text]) => `${word}: ${text}`),
    ),
    ...section('What agreement cannot show', report.proof.cannotShow),
    ...section('Cautions', report.cautions),
    ...[
      tallyTable(report),
      agreementTable(report),
      placeTable(report),
      spanTable(report, 'lost'),
      spanTable(report, 'unproven'),
    ].flatMap(table),
    ...[
      masterTable(report),
      captureTable(report),
      partTable(report),
      carrierTable(report),
      problemTable(report),
    ].flatMap(table),
    ...[placementTable(report), slipTable(report), loopTable(report)].flatMap(table),
    ...section('Refused joins', refusedLines(report)),
    ...section('Sheet and samples disagree', report.contradictions),
    ...section('Kept out of the master', report.leftOut),
    ...[lossTable(report), verdictTable(report), flagTable(report), detectorTable(report)].flatMap(table),
    ...section('Detection limits', report.detectionLimits),
    ...section('Levels', levelLines(report)),
    ...[provenanceTable(report), digestTable(report)].flatMap(table),
  ];
  return `${blocks.filter((block) => block !== '').join('\n\n')}\n`;
}

function heading(title: string, line = '-'): string {
  const text = wrapText(title);
  return `${text}\n${line.repeat(Math.min(100, text.length))}`;
}

function section(title: string, items: readonly string[]): string[] {
  if (items.length === 0) return [];
  return [`${heading(title)}\n${items.map((item) => wrapText(`- ${item}`, { hang: 2 })).join('\n')}`];
}

function table({ title, columns, rows, note }: ReportTable): string[] {
  if (rows.length === 0 && !note) return [];
  const body = [textTable(columns, rows), note ? wrapText(note) : ''].filter((part) => part !== '');
  return [`${heading(title)}\n${body.join('\n')}`];
}

function refusedLines({ refusedJoins }: TransferReport): string[] {
  return refusedJoins.map((join) => `${join.captures.join(', ')}: ${join.reason}`);
}

function levelLines({ levels, captures }: TransferReport): string[] {
  return levels.map(({ capture, fileChannel, peakDb }) => {
    const { path, channels, frames, rate } = captures[capture];
    const peak = peakDb === null ? 'digital silence throughout' : `peak ${peakDb.toFixed(2)} dBFS`;
    return `${path}, file channel ${fileChannel} (${formatChannels([channels[fileChannel - 1] ?? 0])}): ${peak} in ${formatSeconds(frames, rate)}`;
  });
}

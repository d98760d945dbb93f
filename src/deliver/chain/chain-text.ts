// The certificate of a chain as text for people. Prints the document, judges nothing.
import { formatRate } from '../../base/index.ts';
import type { ReportTable } from '../report-table.ts';
import { textTable, wrapText } from '../text-table.ts';
import type { ChainDocument, ChainFile } from './chain-document.ts';
import { changeTable, channelTable } from './chain-tables.ts';
import { proofSentences, settingLines, verdictSentence } from './chain-words.ts';

export function chainText(document: ChainDocument): string {
  const { doubts, notes, captured, sent, written } = document;
  const list = (lines: readonly string[]) =>
    lines.map((line) => wrapText(`- ${line}`, { indent: 2, hang: 2 })).join('\n');
  return [
    wrapText(verdictSentence(document)),
    tableText(changeTable(document)),
    titled('Doubts', list(doubts)),
    titled('Channels', tableText(channelTable(document))),
    titled('Limits of the proof', list(proofSentences(document))),
    titled('Signal', wrapText(signalLine(document), { indent: 2 })),
    sent ? titled('Sent', fileLines(sent)) : '',
    titled('Captured', fileLines(captured)),
    titled('Settings and notes', list([...settingLines(document), ...notes])),
    wrapText(`Judged ${document.date} with tapeproof ${document.tool}.`),
    written ? wrapText(`Written: ${written.join(', ')}`) : '',
  ]
    .filter((part) => part !== '')
    .join('\n\n');
}

export function signalLine({ signal, sent }: ChainDocument): string {
  const origin = sent ? '' : ' Read from the capture itself; the file that was played was not given.';
  return `Chain signal version ${signal.version}: ${signal.bits} bits, ${formatRate(signal.rate)}, ${signal.cells} cells, ${signal.frames} frames.${origin}`;
}

function fileLines({ path, container, rate, bits, channels, frames, digests, problems }: ChainFile): string {
  return [
    path,
    `${container}, ${channels} channels, ${bits} bit, ${formatRate(rate)}, ${frames} frames`,
    `sha256 of the file:  ${digests.file.sha256}`,
    `sha256 of the audio: ${digests.audio.sha256}`,
    ...problems.map((problem) => `! ${problem.message}`),
  ]
    .map((line) => wrapText(line, { indent: 2, hang: 2 }))
    .join('\n');
}

function tableText({ columns, rows }: ReportTable): string {
  return textTable(columns, rows, { indent: 2 });
}

function titled(title: string, body: string): string {
  return body === '' ? '' : `${title}\n${body}`;
}

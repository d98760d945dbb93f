// The certificate of a chain as text for people. Prints the document, judges nothing.
import { formatRate } from '../../base/index.ts';
import { textTable, wrapText } from '../text-table.ts';
import type { ChainDocument, ChainFile } from './chain-document.ts';
import { channelText, findingSentence, proofSentences, TITLES, verdictSentence } from './chain-words.ts';

export function chainText(document: ChainDocument): string {
  const { findings, doubts, notes, captured, sent, written } = document;
  const rows = findings.map((finding) => [
    TITLES[finding.kind],
    channelText(finding),
    findingSentence(finding, document),
  ]);
  const columns = [{ header: 'what happened' }, { header: 'where' }, { header: 'how', flexible: true }];
  const list = (lines: readonly string[]) =>
    lines.map((line) => wrapText(`- ${line}`, { indent: 2, hang: 2 })).join('\n');
  return [
    wrapText(verdictSentence(document)),
    textTable(columns, rows, { indent: 2 }),
    titled('Doubts', list(doubts)),
    titled('Channels', channelTable(document)),
    titled('Limits of the proof', list(proofSentences(document))),
    titled('Signal', wrapText(signalLine(document), { indent: 2 })),
    sent ? titled('Sent', fileLines(sent)) : '',
    titled('Captured', fileLines(captured)),
    titled('Notes', list(notes)),
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

function channelTable({ channels }: ChainDocument): string {
  const right = (header: string) => ({ header, align: 'right' as const });
  const columns = [
    right('captured channel'),
    right('holds sent'),
    right('from frame'),
    right('late by, frames'),
    right('compared'),
    right('equal'),
    { header: 'first difference', flexible: true },
  ];
  const rows = channels.map((one) => [
    `${one.channel}`,
    `${one.source}`,
    `${one.firstFrame}`,
    `${Number(one.lagFrames.toFixed(3))}`,
    `${one.frames}`,
    `${one.equalFrames}`,
    one.firstDifferences.length > 0 ? `frame ${one.firstDifferences[0].frame}` : 'none',
  ]);
  return textTable(columns, rows, { indent: 2 });
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

function titled(title: string, body: string): string {
  return body === '' ? '' : `${title}\n${body}`;
}

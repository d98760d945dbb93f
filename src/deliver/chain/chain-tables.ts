// What the tables of a certificate hold, for its text and its page alike. Not for how they are drawn.
import { left, type ReportTable, right, wide } from '../report-table.ts';
import type { ChainDocument } from './chain-document.ts';
import { channelText, findingSentence, TITLES } from './chain-words.ts';

export function changeTable(document: ChainDocument): ReportTable {
  const rows = document.findings.map((finding) => [
    TITLES[finding.kind],
    channelText(finding),
    findingSentence(finding, document),
  ]);
  return { title: 'Changes', columns: [left('what happened'), left('where'), wide('how')], rows };
}

export function channelTable({ channels }: ChainDocument): ReportTable {
  const columns = [
    ...['captured channel', 'holds sent', 'from frame', 'late by, frames', 'compared', 'equal'].map(right),
    wide('first difference'),
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
  return { title: 'Channels', columns, rows };
}

// What a test signal holds, and its warnings, as text for people.
import { formatRate, formatTime } from '../../base/index.ts';
import { countOf } from '../plain-words.ts';
import { textTable, wrapText } from '../text-table.ts';
import type { SignalDocument } from './measure-document.ts';

export function signalText(document: SignalDocument): string {
  const { path, rate, bits, channels, frames, sections, warnings } = document;
  const rows = sections.map(({ id, start, length, channel, levelDb }) => [
    formatTime(start, rate),
    formatTime(length, rate),
    id,
    channel === 0 ? 'both' : `${channel} alone`,
    levelDb === null ? 'silence' : levelDb.toFixed(1),
  ]);
  const columns = [
    { header: 'from' },
    { header: 'for' },
    { header: 'part', flexible: true },
    { header: 'channel' },
    { header: 'peak, dBFS', align: 'right' as const },
  ];
  return [
    wrapText(`${path}: ${countOf(channels, 'channel')}, ${bits} bit, ${formatRate(rate)}, ${formatTime(frames, rate)}`),
    warnings.map((text) => wrapText(`! ${text}`, { hang: 2 })).join('\n'),
    textTable(columns, rows),
  ].join('\n\n');
}

// The table that ends every joining verb: per channel how many frames are proven, chosen, unproven and lost.
import { textTable, wrapText } from '../deliver/index.ts';

export interface Tally {
  /** captures that could not be joined stand in parts of their own */
  readonly group?: number;
  readonly channel: number;
  readonly proven: number;
  readonly chosen: number;
  readonly unproven: number;
  readonly lost: number;
}

/** Frames. Lost frames are counted among the other three as well. */
export function tallyText(tallies: readonly Tally[]): string {
  const hasParts = tallies.some(({ group = 0 }) => group > 0);
  const headers = [...(hasParts ? ['part'] : []), 'channel', 'proven', 'chosen', 'unproven', 'lost'];
  const table = textTable(
    headers.map((header) => ({ header, align: 'right' })),
    tallies.map(({ group = 0, channel, proven, chosen, unproven, lost }) =>
      [...(hasParts ? [group + 1] : []), channel, proven, chosen, unproven, lost].map(String),
    ),
    { indent: 2 },
  );
  return `Frames per channel\n${table}`;
}

/** The parts that say something, an empty line between them. */
export function paragraphs(parts: readonly string[]): string {
  return parts.filter((part) => part !== '').join('\n\n');
}

/** A title above indented lines; nothing when there are none. */
export function listText(title: string, lines: readonly string[]): string {
  if (lines.length === 0) return '';
  return [title, ...lines.map((line) => wrapText(line, { indent: 2, hang: 2 }))].join('\n');
}

// The table that ends every joining verb: per channel how many frames are proven, chosen, unproven and lost.
import { textTable } from '../deliver/index.ts';

export interface Tally {
  readonly channel: number;
  readonly proven: number;
  readonly chosen: number;
  readonly unproven: number;
  readonly lost: number;
}

/** Frames. Lost frames are counted among the other three as well. */
export function tallyText(tallies: readonly Tally[]): string {
  const headers = ['channel', 'proven', 'chosen', 'unproven', 'lost'];
  return textTable(
    headers.map((header) => ({ header, align: 'right' })),
    tallies.map(({ channel, proven, chosen, unproven, lost }) => [channel, proven, chosen, unproven, lost].map(String)),
    { indent: 2 },
  );
}

/** The parts that say something, an empty line between them. */
export function paragraphs(parts: readonly string[]): string {
  return parts.filter((part) => part !== '').join('\n\n');
}

/** A title above indented lines; nothing when there are none. */
export function listText(title: string, lines: readonly string[]): string {
  return lines.length === 0 ? '' : [title, ...lines.map((line) => `  ${line}`)].join('\n');
}

// A log of channel status and validity: a CSV with a heading, one line a block or time (GUIDE, "What the interface says"). Turned into
// status stretches and flagged blocks by frame. Opens nothing; judges nothing.
import { type Rate, rateHz, type Span, TapeproofError } from '../../base/index.ts';
import { decodeStatus, type StatusBlock } from './block.ts';
import { parseStatus } from './status-text.ts';

/** frames of one block of the interface */
export const BLOCK_FRAMES = 192;

export interface StatusStretch extends Span {
  /** 1-based file channel; 0 = all of them */
  readonly channel: number;
  readonly block: StatusBlock;
}

export interface ValidityLog {
  readonly channel: number;
  /** blocks in which samples were flagged invalid, in order, each once */
  readonly flagged: readonly (Span & { readonly invalid: number })[];
  /** what the log speaks of: from its first line to its last */
  readonly covered: Span;
}

export interface StatusLog {
  readonly stretches: readonly StatusStretch[];
  /** only where the log has the column `invalid` */
  readonly validity: readonly ValidityLog[];
}

interface Line {
  readonly frame: number;
  readonly channel: number;
  readonly status: StatusBlock | undefined;
  readonly invalid: number | undefined;
}

/** One status for the whole recording, as typed. */
export function typedStatus(text: string, frames: number): StatusLog {
  const block = decodeStatus(parseStatus(text));
  return { stretches: [{ channel: 0, start: 0, length: frames, block }], validity: [] };
}

/** Throws `input` with the line. Lines may stand in any order; `frames`, `channels` are those of the recording. */
export function parseStatusLog(
  text: string,
  path: string,
  about: { readonly rate: Rate; readonly frames: number; readonly channels: number },
): StatusLog {
  const rows = text.split(/\r?\n/).map((row, i) => ({ row: row.trim(), line: i + 1 }));
  const filled = rows.filter(({ row }) => row !== '' && !row.startsWith('#'));
  const columns = columnsOf(filled[0], path);
  const lines = filled.slice(1).map(({ row, line }) => {
    try {
      return lineOf(row, columns, about);
    } catch (error) {
      if (!(error instanceof TapeproofError)) throw error;
      throw new TapeproofError('input', error.message, { ...error.detail, path, line });
    }
  });
  lines.sort((a, b) => a.frame - b.frame);
  const hasValidity = columns.includes('invalid');
  return { stretches: stretchesOf(lines, about.frames), validity: hasValidity ? validityOf(lines) : [] };
}

const COLUMNS = ['frame', 'time', 'channel', 'status', 'invalid'];
const HEADING = 'a first line such as "frame,channel,status,invalid" or "time,status"';

function columnsOf(first: { row: string; line: number } | undefined, path: string): string[] {
  const columns = first?.row.split(',').map((name) => name.trim().toLowerCase()) ?? [];
  const places = columns.filter((name) => name === 'frame' || name === 'time').length;
  const isKnown = columns.every((name, i) => COLUMNS.includes(name) && columns.indexOf(name) === i);
  const says = columns.includes('status') || columns.includes('invalid');
  if (first && isKnown && places === 1 && says) return columns;
  const found = first ? JSON.stringify(first.row.slice(0, 60)) : 'an empty file';
  throw new TapeproofError('input', 'not a status log', { path, line: first?.line ?? 1, expected: HEADING, found });
}

function lineOf(
  row: string,
  columns: readonly string[],
  about: { rate: Rate; frames: number; channels: number },
): Line {
  const cells = row.split(',').map((cell) => cell.trim());
  if (cells.length !== columns.length) {
    const expected = `${columns.length} values: ${columns.join(', ')}`;
    throw new TapeproofError('input', 'wrong number of values', { expected, found: `${cells.length}` });
  }
  const cell = (name: string) => (columns.includes(name) ? cells[columns.indexOf(name)] : '');
  const frame = columns.includes('frame')
    ? wholeOf(cell('frame'), 'frame', about.frames)
    : frameOf(cell('time'), about);
  const channel = cell('channel') === '' ? 0 : wholeOf(cell('channel'), 'channel', about.channels);
  return {
    frame,
    channel,
    status: cell('status') === '' ? undefined : decodeStatus(parseStatus(cell('status'))),
    invalid: columns.includes('invalid') ? wholeOf(cell('invalid') || '0', 'invalid', 2 * BLOCK_FRAMES) : undefined,
  };
}

function wholeOf(text: string, name: string, most: number): number {
  if (/^\d+$/.test(text) && Number(text) <= most) return Number(text);
  throw new TapeproofError('input', `${name} does not fit`, {
    expected: `a whole number from 0 to ${most}`,
    found: text,
  });
}

/** Seconds, m:ss or h:mm:ss, with decimals. */
function frameOf(text: string, { rate, frames }: { rate: Rate; frames: number }): number {
  const seconds = /^(?:(?:(\d+):)?(\d{1,2}):)?(\d+(?:\.\d+)?)$/.exec(text);
  if (seconds) {
    const [, h = '0', m = '0', s] = seconds;
    const frame = Math.round((3600 * Number(h) + 60 * Number(m) + Number(s)) * rateHz(rate));
    if (frame <= frames) return frame;
  }
  const longest = (frames / rateHz(rate)).toFixed(3);
  throw new TapeproofError('input', 'time does not fit', {
    expected: `seconds, m:ss or h:mm:ss, at most ${longest} s`,
    found: text,
  });
}

/** A status holds until the next one of its channel; equal neighbours are one stretch. */
function stretchesOf(lines: readonly Line[], frames: number): StatusStretch[] {
  const open = new Map<number, { start: number; block: StatusBlock }>();
  const out: StatusStretch[] = [];
  const close = (channel: number, end: number) => {
    const own = open.get(channel);
    if (own && end > own.start) out.push({ channel, start: own.start, length: end - own.start, block: own.block });
  };
  for (const { frame, channel, status } of lines) {
    if (!status || open.get(channel)?.block.hex === status.hex) continue;
    close(channel, frame);
    open.set(channel, { start: frame, block: status });
  }
  for (const channel of open.keys()) close(channel, frames);
  return out.sort((a, b) => a.start - b.start || a.channel - b.channel);
}

function validityOf(lines: readonly Line[]): ValidityLog[] {
  const [first, last] = [lines[0], lines.at(-1)];
  if (!first || !last) return [];
  const covered = { start: first.frame, length: last.frame + BLOCK_FRAMES - first.frame };
  const channels = [...new Set(lines.map(({ channel }) => channel))].sort((a, b) => a - b);
  return channels.map((channel) => {
    const flagged = new Map<number, number>();
    for (const line of lines) {
      if (line.channel !== channel || !line.invalid) continue;
      flagged.set(line.frame, Math.max(flagged.get(line.frame) ?? 0, line.invalid));
    }
    const blocks = [...flagged].map(([start, invalid]) => ({ start, length: BLOCK_FRAMES, invalid }));
    return { channel, flagged: blocks, covered };
  });
}

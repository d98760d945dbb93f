// The cut list as a file, YAML or CSV, one line a programme: written to be changed by hand, read back with every error at its line. Not for what the
// lines mean together (assemble/cut-list).
import type { CutList, CutMaster, CutSureness } from '../assemble/index.ts';
import { formatTime, type Rate, rateHz, TapeproofError } from '../base/index.ts';
import { csvText } from '../deliver/index.ts';
import { parseCsv } from './csv-rows.ts';
import { readSheetText, valueAt } from './sheet-text.ts';

/** A line as it was written: the start may be frames or a time, which only the master's rate turns into frames. */
export interface CutDraft {
  readonly line: number;
  readonly master: string;
  readonly start: string;
  readonly channels: readonly number[];
  readonly isCut: boolean;
  readonly title: string;
  readonly sureness: CutSureness;
  readonly why: string;
}

export interface CutListText {
  readonly path: string;
  readonly tape: string | null;
  readonly masters: readonly CutMaster[];
  readonly drafts: readonly CutDraft[];
}

export interface CutMasterFacts {
  readonly rate: Rate;
  readonly frames: number;
}

const COLUMNS = ['master', 'start', 'channels', 'cut', 'title', 'time', 'sureness', 'why', 'tape', 'audio_sha256'];
const SURENESS: readonly CutSureness[] = ['given', 'sure', 'likely', 'possible'];
const YES = ['', 'yes', 'true', '1'];
const NO = ['no', 'false', '0'];

export function isCsvPath(path: string): boolean {
  return /\.csv$/i.test(path);
}

export function cutListCsv(list: CutList, facts: readonly CutMasterFacts[]): string {
  const rows = list.lines.map(({ master, start, channels, isCut, title, sureness, why }) => {
    const { path, audioSha256 } = list.masters[master];
    const time = formatTime(start, facts[master].rate);
    const own = [path, `${start}`, channels.join(' '), isCut ? 'yes' : 'no', title, time, sureness, why];
    return [...own, list.tape ?? '', audioSha256 ?? ''];
  });
  return csvText([COLUMNS, ...rows]);
}

export function cutListYaml(list: CutList, facts: readonly CutMasterFacts[]): string {
  // JSON text is YAML text, and keeps a line a line.
  const text = JSON.stringify;
  const masters = list.masters.map(
    ({ path, audioSha256 }) => `  - { path: ${text(path)}, audioSha256: ${text(audioSha256)} }`,
  );
  const lines = list.lines.map(({ master, start, channels, isCut, title, sureness, why }) => {
    const { path } = list.masters[master];
    const fields = [
      ...(list.masters.length > 1 ? [`master: ${text(path)}`] : []),
      `start: ${start}`,
      `time: ${text(formatTime(start, facts[master].rate))}`,
      ...(channels.length ? [`channels: [${channels.join(', ')}]`] : []),
      `cut: ${isCut}`,
      `title: ${text(title)}`,
      `sureness: ${sureness}`,
      `why: ${text(why)}`,
    ];
    return `  - { ${fields.join(', ')} }`;
  });
  return [
    '# One line a programme: it begins at `start` (frames, or a time as 0:12:34.567) and ends where the next one begins.',
    '# `cut: false` is marked and not cut; `time`, `sureness` and `why` are only told.',
    `tape: ${text(list.tape)}`,
    'masters:',
    ...masters,
    'programmes:',
    ...lines,
    '',
  ].join('\n');
}

/** Throws `input` with the line of the first error. */
export function parseCutList(text: string, path: string): CutListText {
  return isCsvPath(path) ? fromCsv(text, path) : fromYaml(text, path);
}

/** Frames of the start: as written, or of a time at the master's rate. */
export function startFrame({ start, line }: CutDraft, path: string, rate: Rate): number {
  if (/^\d+$/.test(start)) return Number(start);
  const time = /^(?:(\d+):)?([0-5]?\d):([0-5]?\d(?:\.\d+)?)$/.exec(start);
  if (!time) {
    throw new TapeproofError('input', 'this is no start', {
      ...{ path, line, found: start === '' ? 'nothing' : start },
      expected: 'a count of frames, or a time as in 0:12:34.567',
    });
  }
  const [, hours = '0', minutes, seconds] = time;
  return Math.round((Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds)) * rateHz(rate));
}

function fromCsv(text: string, path: string): CutListText {
  const [head, ...rows] = parseCsv(text, path);
  const names = head?.cells.map((name) => name.trim().toLowerCase()) ?? [];
  for (const needed of ['master', 'start']) {
    if (names.includes(needed)) continue;
    throw new TapeproofError('input', `the cut list has no column ${needed}`, {
      ...{ path, line: 1, found: names.join(', ') || 'an empty file' },
      expected: COLUMNS.join(', '),
    });
  }
  if (rows.length === 0) throw noLines(path);
  const masters = new Map<string, CutMaster>();
  let tape: string | null = null;
  const drafts = rows.map(({ line, cells }) => {
    const cell = (name: string) => (cells[names.indexOf(name)] ?? '').trim();
    const master = cell('master');
    if (!masters.has(master)) masters.set(master, { path: master, audioSha256: cell('audio_sha256') || null });
    tape ??= cell('tape') || null;
    const fields = {
      master,
      start: cell('start'),
      channels: cell('channels')
        .split(/[\s,;+]+/)
        .filter(Boolean),
    };
    const rest = { cut: cell('cut'), title: cell('title'), sureness: cell('sureness'), why: cell('why') };
    return draftOf({ ...fields, ...rest }, line, path);
  });
  return { path, tape, masters: [...masters.values()], drafts };
}

function fromYaml(text: string, path: string): CutListText {
  const sheet = readSheetText(text);
  const [problem] = sheet.problems;
  if (problem) throw new TapeproofError('input', problem.message, { path, ...sheet.placeOf(problem.at) });
  const listed = listAt(sheet.raw, 'masters').map((one) => ({
    path: textAt(one, 'path'),
    audioSha256: textAt(one, 'audioSha256') || null,
  }));
  const programmes = listAt(sheet.raw, 'programmes');
  if (programmes.length === 0) throw noLines(path);
  if (listed.length === 0) {
    const expected = 'masters: and under it - { path: master.wav }';
    throw new TapeproofError('input', 'the cut list names no master', { path, line: 1, expected });
  }
  const drafts = programmes.map((one, i) => {
    const { line } = sheet.placeOf(sheet.at(['programmes', i]));
    const channels = listAt(one, 'channels').map(String);
    const fields = { master: textAt(one, 'master') || listed[0].path, start: textAt(one, 'start'), channels };
    const rest = { cut: textAt(one, 'cut'), title: textAt(one, 'title'), sureness: textAt(one, 'sureness') };
    return draftOf({ ...fields, ...rest, why: textAt(one, 'why') }, line, path);
  });
  return { path, tape: textAt(sheet.raw, 'tape') || null, masters: listed, drafts };
}

interface Fields {
  readonly master: string;
  readonly start: string;
  readonly channels: readonly string[];
  readonly cut: string;
  readonly title: string;
  readonly sureness: string;
  readonly why: string;
}

function draftOf({ master, start, channels, cut, title, sureness, why }: Fields, line: number, path: string): CutDraft {
  const refuse = (message: string, expected: string, found: string) =>
    new TapeproofError('input', message, { path, line, expected, found: found === '' ? 'nothing' : found });
  if (master === '') throw refuse('the line names no master', 'the path of a master, relative to the list', master);
  const word = cut.toLowerCase();
  if (!YES.includes(word) && !NO.includes(word)) throw refuse('this is neither yes nor no', 'cut: yes or no', cut);
  const wrong = channels.find((channel) => !/^[1-9]\d*$/.test(channel));
  if (wrong !== undefined) throw refuse('this is no channel', 'channels of the master, as in 1 2', wrong);
  const known = SURENESS.find((one) => one === sureness) ?? 'given';
  const isCut = YES.includes(word);
  return { line, master, start, channels: channels.map(Number), isCut, title, sureness: known, why };
}

function noLines(path: string): TapeproofError {
  return new TapeproofError('input', 'the cut list has no programme', { path, expected: 'a line a programme' });
}

function listAt(value: unknown, key: string): readonly unknown[] {
  const list = valueAt(value, [key]);
  return Array.isArray(list) ? list : [];
}

function textAt(value: unknown, key: string): string {
  const text = valueAt(value, [key]);
  return text === undefined || text === null || typeof text === 'object' ? '' : String(text).trim();
}

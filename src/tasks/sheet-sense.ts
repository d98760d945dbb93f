// What the shape of a sheet cannot say: formats and rates that exist, files named once, channels that make sense. Looks only at values of
// the right shape, so that it can run beside the check of shapes. Opens nothing.
import { resolve } from 'node:path';
import { parseRate, type Rate, rateHz } from '../base/index.ts';
import { parseRawSpec } from '../media/index.ts';
import { type FormatHints, findFormat, isTypedStatus, parseStatus, parseSystem } from '../tape/index.ts';
import { benchProblems } from './sheet-bench-sense.ts';
import { complaint, type SheetProblem } from './sheet-problem.ts';
import { type SheetText, valueAt } from './sheet-text.ts';
import { EXPECTED, type SheetPath, show } from './sheet-words.ts';

/** no tape format lies outside; catches kilohertz written as hertz */
const LOWEST_HZ = 4000;
const HIGHEST_HZ = 400_000;

export function senseProblems(raw: unknown, text: SheetText): SheetProblem[] {
  const tape = valueAt(raw, ['tape']);
  const captures = valueAt(raw, ['captures']);
  const list: readonly unknown[] = Array.isArray(captures) ? captures : [];
  const files = new Map<string, number>();
  return [
    ...formatProblems(tape, text),
    ...rateProblems(valueAt(tape, ['rate']), text),
    ...list.flatMap((capture, i) => [
      ...fileProblems(capture, i, text),
      ...namedFiles(capture).flatMap(({ name, at }) =>
        repeatedFile(name, { index: i, place: at, raw: valueAt(capture, ['raw']) }, files, text),
      ),
      ...rawProblems(valueAt(capture, ['raw']), i, text),
      ...statusProblems(valueAt(capture, ['status']), i, text),
      ...channelProblems(valueAt(capture, ['channels']), i, text),
      ...timecodeProblems(capture, i, text),
    ]),
    ...lonelyStarts(list, text),
    ...benchProblems(raw, text),
  ];
}

function formatProblems(tape: unknown, text: SheetText): SheetProblem[] {
  const system = valueAt(tape, ['system']);
  const format = valueAt(tape, ['format']);
  if (system !== undefined && typeof system !== 'string') return [];
  if (typeof format !== 'string' && system === undefined) return [];
  const aim = typeof format === 'string' ? 'format' : 'system';
  const problem = complaint(() => {
    if (system !== undefined) parseSystem(system);
    if (typeof format === 'string') findFormat(format, system, hintsOf(tape));
  });
  return problem ? [{ ...problem, at: text.at(['tape', aim]) }] : [];
}

/** What else the sheet says of the tape, as far as it can be used; its own errors are reported elsewhere. */
export function hintsOf(tape: unknown): FormatHints {
  const word = valueAt(tape, ['word']);
  const rate = valueAt(tape, ['rate']);
  const hints: { word?: number; rate?: Rate } = {};
  if (typeof word === 'number') hints.word = word;
  if (typeof rate === 'number' || typeof rate === 'string') {
    complaint(() => {
      hints.rate = parseRate(String(rate));
    });
  }
  return hints;
}

function rateProblems(value: unknown, text: SheetText): SheetProblem[] {
  if (typeof value !== 'string' && typeof value !== 'number') return [];
  let hz = 0;
  complaint(() => {
    hz = rateHz(parseRate(String(value)));
  });
  if (hz >= LOWEST_HZ && hz <= HIGHEST_HZ) return [];
  const at = text.at(['tape', 'rate']);
  const next = hz > 0 && hz < LOWEST_HZ ? 'give hertz, or write kilohertz with a k' : undefined;
  const message = 'tape.rate is not a sampling rate of a tape';
  return [{ message, at, expected: EXPECTED['tape.rate'], found: show(value), next }];
}

/** Exactly one of `file` and `files`. */
function fileProblems(capture: unknown, index: number, text: SheetText): SheetProblem[] {
  if (typeof capture !== 'object' || capture === null || Array.isArray(capture)) return [];
  const [one, several] = [valueAt(capture, ['file']), valueAt(capture, ['files'])];
  const expected = EXPECTED['captures.*.file'];
  if (one === undefined && several === undefined)
    return [{ message: `file of capture ${index + 1} is missing`, at: text.at(['captures', index]), expected }];
  if (one === undefined || several === undefined) return [];
  const at = text.at(['captures', index, 'files'], true);
  return [{ message: 'both file and files', at, next: 'keep file for one file, files for all parts of a take' }];
}

/** The names that have the right shape, each with its place below the capture. */
export function namedFiles(capture: unknown): { name: string; at: SheetPath }[] {
  const several = valueAt(capture, ['files']);
  const list: readonly unknown[] = Array.isArray(several) ? several : [];
  const all = [
    { name: valueAt(capture, ['file']), at: ['file'] },
    ...list.map((name, i) => ({ name, at: ['files', i] })),
  ];
  return all.flatMap(({ name, at }) => (typeof name === 'string' && name.trim() !== '' ? [{ name, at }] : []));
}

function rawProblems(raw: unknown, index: number, text: SheetText): SheetProblem[] {
  if (typeof raw !== 'string') return [];
  const problem = complaint(() => parseRawSpec(raw));
  return problem ? [{ ...problem, at: text.at(['captures', index, 'raw']) }] : [];
}

function statusProblems(status: unknown, index: number, text: SheetText): SheetProblem[] {
  if (typeof status !== 'string' || !isTypedStatus(status)) return [];
  const problem = complaint(() => parseStatus(status));
  return problem ? [{ ...problem, at: text.at(['captures', index, 'status']) }] : [];
}

/** The path of a status log, where one is named. */
export function namedLog(capture: unknown): { name: string; at: SheetPath }[] {
  const status = valueAt(capture, ['status']);
  if (typeof status !== 'string' || status.trim() === '' || isTypedStatus(status)) return [];
  return [{ name: status, at: ['status'] }];
}

/** A file may be read once by its header and again as bare samples, for what the header leaves out. */
function repeatedFile(
  file: string,
  { index, place, raw }: { index: number; place: SheetPath; raw: unknown },
  files: Map<string, number>,
  text: SheetText,
): SheetProblem[] {
  const key = `${typeof raw === 'string' ? raw.trim() : ''}\n${resolve('/', file.trim())}`;
  const before = files.get(key);
  if (before === undefined) {
    files.set(key, index);
    return [];
  }
  const at = text.at(['captures', index, ...place]);
  const where = before === index ? 'the same file twice in one capture' : `the same file as capture ${before + 1}`;
  return [{ message: where, at, found: show(file), next: 'name each file once' }];
}

/** The channel map has a place for every file channel. */
function timecodeProblems(capture: unknown, index: number, text: SheetText): SheetProblem[] {
  const [timecode, channels] = [valueAt(capture, ['timecode']), valueAt(capture, ['channels'])];
  if (typeof timecode !== 'number' || !Array.isArray(channels) || timecode <= channels.length) return [];
  const at = text.at(['captures', index, 'timecode']);
  const found = `file channel ${timecode}, and ${channels.length} in channels`;
  const next = 'give channels a place for every file channel, with 0 for the timecode';
  return [{ message: `capture ${index + 1} has no such file channel`, at, found, next }];
}

/** A word that stands once in its pass says nothing, and is probably mistyped. */
function lonelyStarts(captures: readonly unknown[], text: SheetText): SheetProblem[] {
  const wordOf = (capture: unknown) => {
    const starts = valueAt(capture, ['starts']);
    return typeof starts === 'string' ? `${valueAt(capture, ['pass'])} ${starts.trim()}` : undefined;
  };
  const words = captures.map(wordOf);
  return captures.flatMap((capture, i) => {
    const word = words[i];
    if (word === undefined || words.filter((one) => one === word).length > 1) return [];
    const message = `no other capture of its pass starts together with capture ${i + 1}`;
    const found = show(valueAt(capture, ['starts']));
    const next = 'give the captures that began together the same word, or leave it out';
    return [{ message, at: text.at(['captures', i, 'starts']), found, next }];
  });
}

function channelProblems(channels: unknown, index: number, text: SheetText): SheetProblem[] {
  if (!Array.isArray(channels) || channels.length === 0) return [];
  const seen = new Set<unknown>();
  const out: SheetProblem[] = [];
  for (const [i, channel] of channels.entries()) {
    if (channel !== 0 && seen.has(channel)) {
      const at = text.at(['captures', index, 'channels', i]);
      out.push({ message: `channel ${show(channel)} stands twice in one file`, at, next: 'use 0 for a spare copy' });
    }
    seen.add(channel);
  }
  if (channels.every((channel) => channel === 0)) {
    const at = text.at(['captures', index, 'channels']);
    out.push({ message: 'no channel of this file is used', at, next: 'leave the capture out' });
  }
  return out;
}

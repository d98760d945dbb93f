// Reads the transfer sheet (design.md section 3): YAML checked against its schema, every error with line and column, all
// of them at once. Opens the sheet, never the captures.
import { stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { parseRate, type Rate } from '../base/index.ts';
import { parseRawSpec, type RawSpec } from '../media/index.ts';
import { findFormat, isTypedStatus, parseSystem } from '../tape/index.ts';
import { nearWord } from './near-word.ts';
import { type SheetProblem, sheetError } from './sheet-problem.ts';
import {
  type BenchDraft,
  checkShape,
  type RulesDraft,
  type ShapeIssue,
  type SheetDraft,
  type WantedDraft,
} from './sheet-schema.ts';
import { hintsOf, namedFiles, namedLog, senseProblems } from './sheet-sense.ts';
import { readSheetText, type SheetText, valueAt } from './sheet-text.ts';
import { EXPECTED, knownKeys, nameOf, patternOf, show } from './sheet-words.ts';
import { readTextFile } from './text-file.ts';

export interface SheetTape {
  readonly id: string;
  /** id of the one format that the sheet's words name; null when it names none */
  readonly format: string | null;
  readonly system: string | null;
  /** word length in bits the sheet claims */
  readonly word: number | null;
  readonly rate: Rate | null;
}

export interface SheetFile {
  /** as written on the sheet */
  readonly name: string;
  /** absolute, resolved from the sheet's folder */
  readonly path: string;
}

export interface SheetCapture {
  /** as written on the sheet; one unless it lists several */
  readonly files: readonly SheetFile[];
  /** `files:` on the sheet: these and no others. `file:` means the take that begins with it */
  readonly isListed: boolean;
  /** bare samples, stored so */
  readonly raw: RawSpec | null;
  /** audio behind a stated size that is too short is read */
  readonly trailing: boolean;
  /** the stretch of a stream whose mode changes, counted from 1 */
  readonly segment: number | null;
  /** what the interface said: hex, words, or the absolute path of a log */
  readonly status: string | null;
  readonly pass: number;
  readonly deck: string | null;
  readonly recorder: string | null;
  /** tape channel of each file channel; 0 = not used */
  readonly channels: readonly number[];
  /** timeline frame of the capture's frame 0, if declared */
  readonly offset: number | null;
  /** captures of one pass with the same word began together, to the sample */
  readonly starts: string | null;
  /** file channel that carries timecode, if the sheet says so */
  readonly timecode: number | null;
  readonly notes: string | null;
  /** where it stands on the sheet, 1-based, for later messages */
  readonly line: number;
  readonly column: number;
}

export interface TransferSheet {
  readonly path: string;
  readonly tape: SheetTape;
  readonly captures: readonly SheetCapture[];
  readonly notes: string | null;
}

/** A hand-written sheet is a few kilobytes; anything near this is not one. */
const MOST_BYTES = 262_144;

/** The checked sheet. Whether the capture files exist is not looked at. Throws `input` with every error of the text. */
export function parseSheet(text: string, path: string): TransferSheet {
  const { draft, sheet, problems } = checkSheet(text, 'captures');
  if (problems.length > 0 || !draft) throw sheetError(path, sheet.placeOf, problems);
  return finished(draft, path, sheet);
}

/** `parseSheet` of a file, and every capture file must exist. Throws `input`, `limit` (not a sheet's size) or `io`. */
export async function loadSheet(path: string): Promise<TransferSheet> {
  const { draft, sheet, problems } = checkSheet(await readTextFile(path, 'transfer sheet', MOST_BYTES), 'captures');
  const missing = await missingFiles(sheet, dirname(path));
  const all = [...problems, ...missing].sort((a, b) => a.at - b.at);
  if (all.length > 0 || !draft) throw sheetError(path, sheet.placeOf, all);
  return finished(draft, path, sheet);
}

/** `parseSheet` for a plan: bench instead of captures, as it is written. Whether captures exist is not looked at. */
export async function loadBenchSheet(path: string): Promise<BenchSheet> {
  const { draft, sheet, problems } = checkSheet(await readTextFile(path, 'transfer sheet', MOST_BYTES), 'bench');
  if (problems.length > 0 || !draft?.bench) throw sheetError(path, sheet.placeOf, problems);
  const { bench, wanted = {}, rules = {}, captures } = draft;
  return { path, tape: tapeOf(draft), bench, wanted, rules, hasCaptures: captures !== undefined, text: sheet };
}

export interface BenchSheet {
  readonly path: string;
  readonly tape: SheetTape;
  readonly bench: BenchDraft;
  readonly wanted: WantedDraft;
  readonly rules: RulesDraft;
  readonly hasCaptures: boolean;
  /** for the places of later messages, and for the sheet that is made of this one */
  readonly text: SheetText;
}

interface CheckedSheet {
  readonly sheet: SheetText;
  readonly draft?: SheetDraft | undefined;
  /** in the order of the text */
  readonly problems: readonly SheetProblem[];
}

/** `needs`: the section without which nothing can be done. */
function checkSheet(text: string, needs: 'captures' | 'bench'): CheckedSheet {
  const sheet = readSheetText(text);
  if (sheet.problems.length > 0) return { sheet, problems: sheet.problems };
  const { draft, issues } = checkShape(sheet.raw);
  const isThere = !isMap(sheet.raw) || valueAt(sheet.raw, [needs]) !== undefined;
  const problems = [
    ...issues.flatMap((issue) => shapeProblems(issue, sheet)),
    ...senseProblems(sheet.raw, sheet),
    ...(isThere
      ? []
      : [{ message: `${needs} is missing`, at: sheet.at([]), expected: EXPECTED[needs], next: NEEDS[needs] }]),
  ];
  return { sheet, draft, problems: problems.sort((a, b) => a.at - b.at) };
}

const NEEDS = {
  captures: 'for passes that are still to be made: tapeproof plan',
  bench: 'for captures that are there: tapeproof run',
};

function isMap(value: unknown): boolean {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function shapeProblems(issue: ShapeIssue, text: SheetText): SheetProblem[] {
  const at = text.at(issue.path);
  if (issue.code === 'unrecognized_keys') {
    const known = knownKeys(issue.path);
    return issue.keys.map((key) => ({
      message: `unknown key ${show(key)}`,
      at: text.at([...issue.path, key], true),
      expected: `one of ${known.join(', ')}`,
      next: nearWord(key, known),
    }));
  }
  const value = valueAt(text.raw, issue.path);
  const name = nameOf(issue.path);
  const expected = EXPECTED[patternOf(issue.path)];
  if (value === undefined) return [{ message: `${name} is missing`, at, expected }];
  return [{ message: `${name} does not fit`, at, expected, found: show(value) }];
}

async function missingFiles(text: SheetText, folder: string): Promise<SheetProblem[]> {
  const captures = valueAt(text.raw, ['captures']);
  const list: readonly unknown[] = Array.isArray(captures) ? captures : [];
  const named = list.flatMap((capture, i) => [
    ...namedFiles(capture).map(({ name, at }) => ({ what: 'capture file', name, i, at })),
    ...namedLog(capture).map(({ name, at }) => ({ what: 'status log', name, i, at })),
  ]);
  const checks = named.map(async ({ what, name, i, at: place }): Promise<SheetProblem[]> => {
    if (name.includes('\0')) return [];
    const path = resolve(folder, name.trim());
    const info = await stat(path).catch(() => undefined);
    if (info?.isFile()) return [];
    const at = text.at(['captures', i, ...place]);
    const message = info ? 'not a file' : `${what} not found`;
    return [{ message, at, expected: 'a file at this path, relative to the sheet', found: path }];
  });
  return (await Promise.all(checks)).flat();
}

function tapeOf({ tape }: SheetDraft): SheetTape {
  return {
    id: tape.id,
    format: tape.format === undefined ? null : findFormat(tape.format, tape.system, hintsOf(tape)).id,
    system: tape.system === undefined ? null : parseSystem(tape.system),
    word: tape.word ?? null,
    rate: tape.rate === undefined ? null : parseRate(String(tape.rate)),
  };
}

function finished(draft: SheetDraft, path: string, text: SheetText): TransferSheet {
  const { captures = [], notes } = draft;
  return {
    path,
    tape: tapeOf(draft),
    captures: captures.map((capture, i) => {
      const { file, files } = capture;
      const key = file === undefined ? 'files' : 'file';
      const { line, column } = text.placeOf(text.at(['captures', i, key]));
      const names = files ?? (file === undefined ? [] : [file]);
      return {
        files: names.map((name) => ({ name, path: resolve(dirname(path), name) })),
        isListed: files !== undefined,
        raw: capture.raw === undefined ? null : parseRawSpec(capture.raw),
        trailing: capture.trailing ?? false,
        segment: capture.segment ?? null,
        status: capture.status === undefined ? null : statusOf(capture.status, dirname(path)),
        pass: capture.pass,
        deck: capture.deck ?? null,
        recorder: capture.recorder ?? null,
        channels: capture.channels,
        offset: capture.offset ?? null,
        starts: capture.starts ?? null,
        timecode: capture.timecode ?? null,
        notes: capture.notes ?? null,
        line,
        column,
      };
    }),
    notes: notes ?? null,
  };
}

function statusOf(status: string, folder: string): string {
  return isTypedStatus(status) ? status : resolve(folder, status);
}

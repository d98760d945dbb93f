// Reads the transfer sheet (design.md section 3): YAML checked against its schema, every error with line and column, all
// of them at once. The only file that names the YAML and schema libraries. Opens the sheet, never the captures.
import { stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { type Document, isAlias, isMap, isScalar, isSeq, LineCounter, type Node, parseDocument, visit } from 'yaml';
import { z } from 'zod';
import { parseRate, type Rate, rateHz, TapeproofError } from '../base/index.ts';
import { parseRawSpec, type RawSpec } from '../media/index.ts';
import { type FormatHints, findFormat, parseSystem } from '../tape/index.ts';
import { nearWord } from './near-word.ts';
import { type PlaceOf, type SheetProblem, sheetError } from './sheet-problem.ts';
import { EXPECTED, HIGHEST_CHANNEL, knownKeys, nameOf, patternOf, type SheetPath, show } from './sheet-words.ts';
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
  readonly pass: number;
  readonly deck: string | null;
  readonly recorder: string | null;
  /** tape channel of each file channel; 0 = not used */
  readonly channels: readonly number[];
  /** timeline frame of the capture's frame 0, if declared */
  readonly offset: number | null;
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
const MOST_KEYS = 200;
const DEEPEST = 50;
/** parts of one capture; 256 parts of 2 GiB are weeks */
const MOST_PARTS = 256;
/** no tape format lies outside; catches kilohertz written as hertz */
const LOWEST_HZ = 4000;
const HIGHEST_HZ = 400_000;

type Draft = z.infer<ReturnType<typeof sheetSchema>>;

/** The checked sheet. Whether the capture files exist is not looked at. Throws `input` with every error of the text. */
export function parseSheet(text: string, path: string): TransferSheet {
  const reading = readText(text);
  if (reading.problems.length > 0 || !reading.draft) throw sheetError(path, placesOf(reading.lines), reading.problems);
  return finished(reading.draft, path, reading);
}

/** `parseSheet` of a file, and every capture file must exist. Throws `input`, `limit` (not a sheet's size) or `io`. */
export async function loadSheet(path: string): Promise<TransferSheet> {
  const reading = readText(await readTextFile(path, 'transfer sheet', MOST_BYTES));
  const missing = await missingFiles(reading, dirname(path));
  const problems = [...reading.problems, ...missing].sort((a, b) => a.at - b.at);
  if (problems.length > 0 || !reading.draft) throw sheetError(path, placesOf(reading.lines), problems);
  return finished(reading.draft, path, reading);
}

interface Reading {
  readonly document: Document.Parsed;
  readonly lines: LineCounter;
  readonly problems: readonly SheetProblem[];
  /** what the YAML says, whatever its shape */
  readonly raw: unknown;
  readonly draft: Draft | undefined;
}

function sheetSchema() {
  const text = z.string();
  const file = z.string().trim().min(1);
  const capture = z.strictObject({
    file: file.optional(),
    files: z.array(file).min(1).max(MOST_PARTS).optional(),
    pass: z.int().min(1),
    deck: text.optional(),
    recorder: text.optional(),
    channels: z.array(z.int().min(0).max(HIGHEST_CHANNEL)).min(1).max(HIGHEST_CHANNEL),
    offset: z.int().optional(),
    raw: text.optional(),
    trailing: z.boolean().optional(),
    notes: text.optional(),
  });
  const tape = z.strictObject({
    id: z.string().trim().min(1),
    format: text.optional(),
    system: text.optional(),
    word: z.int().min(8).max(32).optional(),
    rate: z.union([z.number(), z.string()]).optional(),
  });
  return z.strictObject({ tape, captures: z.array(capture).min(1), notes: text.optional() });
}

function readText(text: string): Reading {
  const lines = new LineCounter();
  const deep = tooDeepAt(text);
  if (deep !== undefined) return unreadable(deep);
  // Our own search for repeated keys: the library's is quadratic in the number of keys of a hostile sheet.
  const options = { lineCounter: lines, prettyErrors: false, uniqueKeys: false, logLevel: 'error' } as const;
  try {
    const document = parseDocument(text, options);
    const syntax = syntaxProblems(document);
    if (syntax.length > 0) return { document, lines, problems: syntax, raw: undefined, draft: undefined };
    const raw: unknown = document.toJS();
    const result = sheetSchema().safeParse(raw);
    const shape = result.success ? [] : result.error.issues.flatMap((issue) => shapeProblems(issue, raw, document));
    const sense = senseProblems(raw, document);
    const problems = [...shape, ...sense].sort((a, b) => a.at - b.at);
    return { document, lines, problems, raw, draft: result.data };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return unreadable(0);
  }
}

/** The parser of the library calls itself, and slows down beyond use, before it gives up on a deep nest. */
function unreadable(at: number): Reading {
  const problem = { message: 'the sheet is nested too deeply', at, expected: EXPECTED[''] };
  return {
    document: parseDocument(''),
    lines: new LineCounter(),
    problems: [problem],
    raw: undefined,
    draft: undefined,
  };
}

/** Offset at which brackets or indicators nest deeper than any sheet; counted as text, so also inside of quotes. */
function tooDeepAt(text: string): number | undefined {
  let depth = 0;
  for (let i = 0; i < text.length; i++) {
    const letter = text[i];
    if (letter === '[' || letter === '{') depth++;
    else if (letter === ']' || letter === '}') depth = Math.max(0, depth - 1);
    if (depth > DEEPEST) return i;
  }
  return /(?:[-?:][ \t]+){50}/.exec(text)?.index;
}

function syntaxProblems(document: Document.Parsed): SheetProblem[] {
  const out: SheetProblem[] = [...document.errors, ...document.warnings].map(({ code, message, pos }) => ({
    message: message.split('\n')[0],
    at: pos[0],
    next: code === 'TAB_AS_INDENT' ? 'indent with spaces' : undefined,
  }));
  visit(document, {
    Alias: (_, node) => {
      out.push({
        message: 'a reference to another place (*name)',
        at: node.range?.[0] ?? 0,
        next: 'write the value out',
      });
    },
    Map: (_, node) => {
      if (node.items.length > MOST_KEYS) {
        out.push({ message: 'far too many keys for a sheet', at: placeOf(node), expected: EXPECTED[''] });
        return visit.SKIP;
      }
      const seen = new Set<string>();
      for (const { key } of node.items) {
        const name = isScalar(key) ? String(key.value) : '';
        if (isScalar(key) && seen.has(name)) {
          out.push({ message: `the key ${show(name)} stands here twice`, at: key.range?.[0] ?? 0, next: 'keep one' });
        } else if (!isScalar(key)) out.push({ message: 'a key that is not a word', at: placeOf(key as Node) });
        seen.add(name);
      }
      return undefined;
    },
  });
  if (out.length === 0 && (document.contents === null || isEmpty(document.contents))) {
    out.push({ message: 'the sheet is empty', at: 0, expected: EXPECTED[''] });
  }
  return out.sort((a, b) => a.at - b.at);
}

function isEmpty(node: Node): boolean {
  return isScalar(node) && node.value === null;
}

function shapeProblems(issue: z.core.$ZodIssue, raw: unknown, document: Document): SheetProblem[] {
  const at = placeAt(document, issue.path);
  if (issue.code === 'unrecognized_keys') {
    const known = knownKeys(issue.path);
    return issue.keys.map((key) => ({
      message: `unknown key ${show(key)}`,
      at: placeAt(document, [...issue.path, key], true),
      expected: `one of ${known.join(', ')}`,
      next: nearWord(key, known),
    }));
  }
  const value = valueAt(raw, issue.path);
  const name = nameOf(issue.path);
  const expected = EXPECTED[patternOf(issue.path)];
  if (value === undefined) return [{ message: `${name} is missing`, at, expected }];
  return [{ message: `${name} does not fit`, at, expected, found: show(value) }];
}

/** What the schema cannot say; looks only at values of the right shape, so that it can run beside it. */
function senseProblems(raw: unknown, document: Document): SheetProblem[] {
  const tape = valueAt(raw, ['tape']);
  const captures = valueAt(raw, ['captures']);
  const list: readonly unknown[] = Array.isArray(captures) ? captures : [];
  const files = new Map<string, number>();
  return [
    ...formatProblems(tape, document),
    ...rateProblems(valueAt(tape, ['rate']), document),
    ...list.flatMap((capture, i) => [
      ...fileProblems(capture, i, document),
      ...namedFiles(capture).flatMap(({ name, at }) =>
        repeatedFile(name, { index: i, place: at, raw: valueAt(capture, ['raw']) }, files, document),
      ),
      ...rawProblems(valueAt(capture, ['raw']), i, document),
      ...channelProblems(valueAt(capture, ['channels']), i, document),
    ]),
  ];
}

function formatProblems(tape: unknown, document: Document): SheetProblem[] {
  const system = valueAt(tape, ['system']);
  const format = valueAt(tape, ['format']);
  if (system !== undefined && typeof system !== 'string') return [];
  if (typeof format !== 'string' && system === undefined) return [];
  const aim = typeof format === 'string' ? 'format' : 'system';
  const problem = complaint(() => {
    if (system !== undefined) parseSystem(system);
    if (typeof format === 'string') findFormat(format, system, hintsOf(tape));
  });
  return problem ? [{ ...problem, at: placeAt(document, ['tape', aim]) }] : [];
}

/** What else the sheet says of the tape, as far as it can be used; its own errors are reported elsewhere. */
function hintsOf(tape: unknown): FormatHints {
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

/** The complaint of `check` as a problem without a place; undefined when it has none. */
function complaint(check: () => void): Omit<SheetProblem, 'at'> | undefined {
  try {
    check();
    return undefined;
  } catch (error) {
    if (!(error instanceof TapeproofError)) throw error;
    const { expected, found, next } = error.detail;
    return { message: error.message, expected, found, next };
  }
}

function rateProblems(value: unknown, document: Document): SheetProblem[] {
  if (typeof value !== 'string' && typeof value !== 'number') return [];
  let hz = 0;
  complaint(() => {
    hz = rateHz(parseRate(String(value)));
  });
  if (hz >= LOWEST_HZ && hz <= HIGHEST_HZ) return [];
  const at = placeAt(document, ['tape', 'rate']);
  const next = hz > 0 && hz < LOWEST_HZ ? 'give hertz, or write kilohertz with a k' : undefined;
  const message = 'tape.rate is not a sampling rate of a tape';
  return [{ message, at, expected: EXPECTED['tape.rate'], found: show(value), next }];
}

/** Exactly one of `file` and `files`. */
function fileProblems(capture: unknown, index: number, document: Document): SheetProblem[] {
  if (typeof capture !== 'object' || capture === null || Array.isArray(capture)) return [];
  const [one, several] = [valueAt(capture, ['file']), valueAt(capture, ['files'])];
  const expected = EXPECTED['captures.*.file'];
  if (one === undefined && several === undefined)
    return [
      { message: `file of capture ${index + 1} is missing`, at: placeAt(document, ['captures', index]), expected },
    ];
  if (one === undefined || several === undefined) return [];
  const at = placeAt(document, ['captures', index, 'files'], true);
  return [{ message: 'both file and files', at, next: 'keep file for one file, files for all parts of a take' }];
}

/** The names that have the right shape, each with its place below the capture. */
function namedFiles(capture: unknown): { name: string; at: SheetPath }[] {
  const several = valueAt(capture, ['files']);
  const list: readonly unknown[] = Array.isArray(several) ? several : [];
  const all = [
    { name: valueAt(capture, ['file']), at: ['file'] },
    ...list.map((name, i) => ({ name, at: ['files', i] })),
  ];
  return all.flatMap(({ name, at }) => (typeof name === 'string' && name.trim() !== '' ? [{ name, at }] : []));
}

function rawProblems(raw: unknown, index: number, document: Document): SheetProblem[] {
  if (typeof raw !== 'string') return [];
  const problem = complaint(() => parseRawSpec(raw));
  return problem ? [{ ...problem, at: placeAt(document, ['captures', index, 'raw']) }] : [];
}

/** A file may be read once by its header and again as bare samples, for what the header leaves out. */
function repeatedFile(
  file: string,
  { index, place, raw }: { index: number; place: SheetPath; raw: unknown },
  files: Map<string, number>,
  document: Document,
): SheetProblem[] {
  const key = `${typeof raw === 'string' ? raw.trim() : ''}\n${resolve('/', file.trim())}`;
  const before = files.get(key);
  if (before === undefined) {
    files.set(key, index);
    return [];
  }
  const at = placeAt(document, ['captures', index, ...place]);
  const where = before === index ? 'the same file twice in one capture' : `the same file as capture ${before + 1}`;
  return [{ message: where, at, found: show(file), next: 'name each file once' }];
}

function channelProblems(channels: unknown, index: number, document: Document): SheetProblem[] {
  if (!Array.isArray(channels) || channels.length === 0) return [];
  const seen = new Set<unknown>();
  const out: SheetProblem[] = [];
  for (const [i, channel] of channels.entries()) {
    if (channel !== 0 && seen.has(channel)) {
      const at = placeAt(document, ['captures', index, 'channels', i]);
      out.push({ message: `channel ${show(channel)} stands twice in one file`, at, next: 'use 0 for a spare copy' });
    }
    seen.add(channel);
  }
  if (channels.every((channel) => channel === 0)) {
    const at = placeAt(document, ['captures', index, 'channels']);
    out.push({ message: 'no channel of this file is used', at, next: 'leave the capture out' });
  }
  return out;
}

async function missingFiles({ raw, document }: Reading, folder: string): Promise<SheetProblem[]> {
  const captures = valueAt(raw, ['captures']);
  const list: readonly unknown[] = Array.isArray(captures) ? captures : [];
  const named = list.flatMap((capture, i) => namedFiles(capture).map(({ name, at }) => ({ name, i, at })));
  const checks = named.map(async ({ name, i, at: place }): Promise<SheetProblem[]> => {
    if (name.includes('\0')) return [];
    const path = resolve(folder, name.trim());
    const info = await stat(path).catch(() => undefined);
    if (info?.isFile()) return [];
    const at = placeAt(document, ['captures', i, ...place]);
    const message = info ? 'not a file' : 'capture file not found';
    return [{ message, at, expected: 'a file at this path, relative to the sheet', found: path }];
  });
  return (await Promise.all(checks)).flat();
}

function finished(draft: Draft, path: string, { document, lines }: Reading): TransferSheet {
  const { tape, captures, notes } = draft;
  return {
    path,
    tape: {
      id: tape.id,
      format: tape.format === undefined ? null : findFormat(tape.format, tape.system, hintsOf(tape)).id,
      system: tape.system === undefined ? null : parseSystem(tape.system),
      word: tape.word ?? null,
      rate: tape.rate === undefined ? null : parseRate(String(tape.rate)),
    },
    captures: captures.map((capture, i) => {
      const { file, files } = capture;
      const key = file === undefined ? 'files' : 'file';
      const { line, column } = placesOf(lines)(placeAt(document, ['captures', i, key]));
      const names = files ?? (file === undefined ? [] : [file]);
      return {
        files: names.map((name) => ({ name, path: resolve(dirname(path), name) })),
        isListed: files !== undefined,
        raw: capture.raw === undefined ? null : parseRawSpec(capture.raw),
        trailing: capture.trailing ?? false,
        pass: capture.pass,
        deck: capture.deck ?? null,
        recorder: capture.recorder ?? null,
        channels: capture.channels,
        offset: capture.offset ?? null,
        notes: capture.notes ?? null,
        line,
        column,
      };
    }),
    notes: notes ?? null,
  };
}

function placesOf(lines: LineCounter): PlaceOf {
  return (at) => {
    const { line, col } = lines.linePos(at);
    return { line: Math.max(1, line), column: Math.max(1, col) };
  };
}

/** Text offset of the value at the path, or of its key; of the nearest holder when it is not there. */
function placeAt(document: Document, path: SheetPath, isKey = false): number {
  let node: unknown = document.contents;
  let at = placeOf(node);
  for (const [depth, part] of path.entries()) {
    if (isMap(node)) {
      const pair = node.items.find(({ key }) => isScalar(key) && String(key.value) === String(part));
      if (!pair) return at;
      const wantsKey = isKey && depth === path.length - 1;
      at = placeOf(wantsKey || pair.value === null ? pair.key : pair.value);
      node = pair.value;
    } else if (isSeq(node) && typeof part === 'number') {
      node = node.items[part];
      if (node === undefined) return at;
      at = placeOf(node);
    } else return at;
  }
  return at;
}

function placeOf(node: unknown): number {
  return isMap(node) || isSeq(node) || isScalar(node) || isAlias(node) ? (node.range?.[0] ?? 0) : 0;
}

function valueAt(value: unknown, path: SheetPath): unknown {
  let at: unknown = value;
  for (const part of path) {
    if (typeof at !== 'object' || at === null || !Object.hasOwn(at, part)) return undefined;
    at = (at as Record<PropertyKey, unknown>)[part];
  }
  return at;
}

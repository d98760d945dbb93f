// The YAML of a sheet: read with bounds, and the place of everything in it. The only file that names the YAML library; knows nothing of what
// a sheet should hold.
import { type Document, isAlias, isMap, isScalar, isSeq, LineCounter, type Node, parseDocument, visit } from 'yaml';
import type { PlaceOf, SheetProblem } from './sheet-problem.ts';
import { EXPECTED, type SheetPath, show } from './sheet-words.ts';

export interface SheetText {
  /** what the YAML says, whatever its shape; undefined where it cannot be read */
  readonly raw: unknown;
  readonly problems: readonly SheetProblem[];
  /** text offset of the value at the path, or of its key; of the nearest holder when it is not there */
  at(path: SheetPath, isKey?: boolean): number;
  readonly placeOf: PlaceOf;
  /** the text again with this list as its captures, one line each below the comment; everything else stays with its comments */
  withCaptures(captures: readonly Readonly<Record<string, unknown>>[], comment: string): string;
}

const MOST_KEYS = 200;
const DEEPEST = 50;

export function readSheetText(text: string): SheetText {
  const lines = new LineCounter();
  const deep = tooDeepAt(text);
  if (deep !== undefined) return unreadable(deep);
  // Our own search for repeated keys: the library's is quadratic in the number of keys of a hostile sheet.
  const options = { lineCounter: lines, prettyErrors: false, uniqueKeys: false, logLevel: 'error' } as const;
  try {
    const document = parseDocument(text, options);
    const problems = syntaxProblems(document);
    const raw: unknown = problems.length > 0 ? undefined : document.toJS();
    return {
      ...{ raw, problems, placeOf: placesOf(lines) },
      at: (path, isKey) => placeAt(document, path, isKey),
      withCaptures: (captures, comment) => withCaptures(text, captures, comment),
    };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return unreadable(0);
  }
}

/** The value at the path of plain data; undefined where there is none. */
export function valueAt(value: unknown, path: SheetPath): unknown {
  let at: unknown = value;
  for (const part of path) {
    if (typeof at !== 'object' || at === null || !Object.hasOwn(at, part)) return undefined;
    at = (at as Record<PropertyKey, unknown>)[part];
  }
  return at;
}

/** The parser of the library calls itself, and slows down beyond use, before it gives up on a deep nest. */
function unreadable(at: number): SheetText {
  const problem = { message: 'the sheet is nested too deeply', at, expected: EXPECTED[''] };
  return {
    raw: undefined,
    problems: [problem],
    at: () => at,
    placeOf: placesOf(new LineCounter()),
    withCaptures: () => '',
  };
}

/** The text is parsed again, so that what was read stays as it was read. */
function withCaptures(text: string, captures: readonly Readonly<Record<string, unknown>>[], comment: string): string {
  const document = parseDocument(text);
  const list = document.createNode(captures.map((capture) => document.createNode(capture, { flow: true })));
  list.commentBefore = comment;
  document.delete('captures');
  document.set('captures', list);
  return document.toString({ lineWidth: 0 });
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

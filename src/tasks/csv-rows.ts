// Comma-separated values (RFC 4180) as rows with their lines in the file; semicolons and tabs too, as spreadsheets of some countries write them. Not for
// what the columns mean.
import { TapeproofError } from '../base/index.ts';

export interface CsvRow {
  /** 1-based line of its first cell */
  readonly line: number;
  readonly cells: readonly string[];
}

/** Empty lines are passed over. Throws `input` for a quotation that does not end. */
export function parseCsv(text: string, path: string): CsvRow[] {
  const source = text.replace(/^\ufeff/, '');
  const comma = separatorOf(source);
  const rows: CsvRow[] = [];
  let [line, at] = [1, 0];
  while (at < source.length) {
    const first = line;
    const cells: string[] = [];
    for (;;) {
      const cell = source[at] === '"' ? quotedCell(source, at, path, line) : plainCell(source, at, comma);
      cells.push(withoutGuard(cell.text));
      line += cell.text.split('\n').length - 1;
      at = cell.end;
      if (source[at] !== comma) break;
      at++;
    }
    if (source[at] === '\r') at++;
    if (source[at] === '\n') at++;
    line++;
    if (cells.some((cell) => cell.trim() !== '')) rows.push({ line: first, cells });
  }
  return rows;
}

function separatorOf(source: string): string {
  const head = /^[^\r\n]*/.exec(source)?.[0] ?? '';
  const count = (sign: string) => head.split(sign).length;
  return [',', ';', '\t'].reduce((best, sign) => (count(sign) > count(best) ? sign : best));
}

function plainCell(source: string, from: number, comma: string) {
  let end = from;
  while (end < source.length && source[end] !== comma && source[end] !== '\n' && source[end] !== '\r') end++;
  return { text: source.slice(from, end), end };
}

function quotedCell(source: string, from: number, path: string, line: number) {
  let text = '';
  for (let at = from + 1; at < source.length; at++) {
    if (source[at] !== '"') text += source[at];
    else if (source[at + 1] === '"') {
      text += '"';
      at++;
    } else return { text, end: at + 1 };
  }
  throw new TapeproofError('input', 'a quotation does not end', { path, line, expected: 'a second "' });
}

/** The apostrophe that keeps a spreadsheet from taking a text for a formula. */
function withoutGuard(text: string): string {
  return /^'[=+@\t\r-]/.test(text) ? text.slice(1) : text;
}

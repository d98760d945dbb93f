// Plain-text tables and wrapped paragraphs of a fixed greatest width, for terminals and report.txt. Not for colour.
import { visibleText } from './plain-words.ts';

export const TEXT_WIDTH = 100;

export interface TextColumn {
  readonly header: string;
  /** numbers to the right, words to the left (default) */
  readonly align?: 'left' | 'right';
  /** may be wrapped when the table is too wide; without any such column the widest left column gives way */
  readonly flexible?: boolean;
}

export interface TableOptions {
  readonly width?: number;
  readonly indent?: number;
}

const GAP = 2;
const LEAST = 6;

/** Lines of the table without a line feed at the end of the text; empty string when there are no rows. */
export function textTable(
  columns: readonly TextColumn[],
  rows: readonly (readonly string[])[],
  options: TableOptions = {},
): string {
  if (rows.length === 0) return '';
  const indent = ' '.repeat(options.indent ?? 0);
  const cells = [columns.map((c) => c.header), ...rows].map((row) => columns.map((_, i) => visibleText(row[i] ?? '')));
  const widths = fitWidths(columns, cells, (options.width ?? TEXT_WIDTH) - indent.length);
  const lines = cells.flatMap((row) => layRow(columns, row, widths));
  const headLines = layRow(columns, cells[0], widths).length;
  const rule = widths.map((w) => '-'.repeat(w)).join(' '.repeat(GAP));
  lines.splice(headLines, 0, rule);
  return lines.map((line) => `${indent}${line}`.trimEnd()).join('\n');
}

/** Words wrapped to the width; `indent` spaces before each line, `hang` more before all but the first. */
export function wrapText(text: string, options: TableOptions & { readonly hang?: number } = {}): string {
  const indent = options.indent ?? 0;
  const hang = options.hang ?? 0;
  const lines = wrap(visibleText(text), (options.width ?? TEXT_WIDTH) - indent - hang);
  return lines.map((line, i) => ' '.repeat(indent + (i ? hang : 0)) + line).join('\n');
}

/** Terminal cells of a text: combining marks take none, East Asian wide letters and pictographs take two. */
export function textWidth(text: string): number {
  let width = 0;
  for (const letter of text) width += letterWidth(letter);
  return width;
}

function letterWidth(letter: string): number {
  const code = letter.codePointAt(0) ?? 0;
  if (code < 0x300) return 1;
  if (/^[\p{Mn}\p{Me}\p{Cf}]$/u.test(letter)) return 0;
  const isWide =
    (code >= 0x1100 && code <= 0x115f) ||
    (code >= 0x2e80 && code <= 0xa4cf) ||
    (code >= 0xac00 && code <= 0xd7a3) ||
    (code >= 0xf900 && code <= 0xfaff) ||
    (code >= 0xfe30 && code <= 0xfe6f) ||
    (code >= 0xff00 && code <= 0xff60) ||
    (code >= 0xffe0 && code <= 0xffe6) ||
    (code >= 0x1f300 && code <= 0x1faff) ||
    (code >= 0x20000 && code <= 0x3fffd);
  return isWide ? 2 : 1;
}

function fitWidths(columns: readonly TextColumn[], cells: readonly (readonly string[])[], room: number): number[] {
  const widths = columns.map((_, i) => cells.reduce((most, row) => Math.max(most, textWidth(row[i])), 1));
  const total = () => widths.reduce((sum, w) => sum + w, 0) + GAP * (widths.length - 1);
  for (let over = total() - room; over > 0; over = total() - room) {
    const giver = widest(columns, widths);
    if (giver < 0) break;
    widths[giver] = Math.max(LEAST, widths[giver] - Math.max(1, Math.floor(over / 2)));
  }
  return widths;
}

/** The column that gives way next: the widest flexible one, else the widest left one, else the widest of all. */
function widest(columns: readonly TextColumn[], widths: readonly number[]): number {
  const pick = (may: (column: TextColumn) => boolean) =>
    widths.reduce((best, w, i) => (may(columns[i]) && w > LEAST && (best < 0 || w > widths[best]) ? i : best), -1);
  const flexible = pick((c) => c.flexible === true);
  if (flexible >= 0) return flexible;
  const left = pick((c) => c.align !== 'right');
  return left >= 0 ? left : pick(() => true);
}

function layRow(columns: readonly TextColumn[], row: readonly string[], widths: readonly number[]): string[] {
  const wrapped = row.map((cell, i) => (textWidth(cell) <= widths[i] ? [cell] : wrap(cell, widths[i])));
  const height = Math.max(...wrapped.map((lines) => lines.length));
  return Array.from({ length: height }, (_, line) =>
    wrapped.map((lines, i) => pad(lines[line] ?? '', widths[i], columns[i].align)).join(' '.repeat(GAP)),
  );
}

function pad(text: string, width: number, align: TextColumn['align']): string {
  const space = ' '.repeat(Math.max(0, width - textWidth(text)));
  return align === 'right' ? space + text : text + space;
}

function wrap(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/ +/)) {
    for (const piece of cut(word, width)) {
      if (line && textWidth(line) + 1 + textWidth(piece) > width) {
        lines.push(line);
        line = piece;
      } else line = line ? `${line} ${piece}` : piece;
    }
  }
  lines.push(line);
  return lines;
}

/** A word longer than the line (a path) in pieces that fit. */
function cut(word: string, width: number): string[] {
  if (textWidth(word) <= width) return [word];
  const pieces: string[] = [];
  let piece = '';
  for (const letter of word) {
    if (piece && textWidth(piece) + letterWidth(letter) > width) {
      pieces.push(piece);
      piece = '';
    }
    piece += letter;
  }
  pieces.push(piece);
  return pieces;
}

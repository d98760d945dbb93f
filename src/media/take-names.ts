// Whether one file name says that it comes right after another: numbered parts, numbered extensions, numbered folders of a
// recorder. Common practice, no source. A name proves nothing: whoever joins on it must say so.
import { basename, dirname, extname } from 'node:path';

interface Numbered {
  /** everything but the number */
  readonly stem: string;
  readonly number: number;
}

/** What the names say, in words, when `after` follows `before`; undefined when they do not say it. */
export function nameLink(before: string, after: string): string | undefined {
  if (isNext(numbered(before), numbered(after))) return `"${basename(after)}" is numbered after "${basename(before)}"`;
  if (isFirstOf(before, after)) return `"${basename(after)}" continues the name of "${basename(before)}"`;
  const folders = [dirname(before), dirname(after)] as const;
  if (basename(before) !== basename(after) || folders[0] === folders[1]) return undefined;
  if (!isNext(trailing(folders[0], ''), trailing(folders[1], ''))) return undefined;
  return `the folder "${basename(folders[1])}" is numbered after "${basename(folders[0])}"`;
}

function isNext(before: Numbered | undefined, after: Numbered | undefined): boolean {
  return before !== undefined && before.stem === after?.stem && after.number === before.number + 1;
}

/** "take.002" by its extension, "take_2.wav", "take-002.wav", "take (2).wav" by the end of its name. */
function numbered(path: string): Numbered | undefined {
  const extension = extname(path);
  const isNumber = /^\.\d{1,4}$/.test(extension);
  return isNumber ? trailing(path, '') : trailing(path.slice(0, path.length - extension.length), extension);
}

function trailing(text: string, rest: string): Numbered | undefined {
  const match = /^(.*?)(\d{1,9})(\)?)$/.exec(text);
  return match ? { stem: `${match[1]}#${match[3]}${rest}`, number: Number(match[2]) } : undefined;
}

/** "take.wav", then "take_1.wav" or "take-2.wav". */
function isFirstOf(before: string, after: string): boolean {
  const next = numbered(after);
  if (!next || next.number < 1 || next.number > 2) return false;
  const extension = extname(before);
  const plain = before.slice(0, before.length - extension.length);
  return ['_#', '-#', ' #', '.#', ' (#)', '(#)'].some((link) => next.stem === `${plain}${link}${extension}`);
}

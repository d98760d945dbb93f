// A channel-status block as people write it: hex bytes as interfaces show them, or words such as
// "consumer rate=44100 emphasis=50/15 copy=permitted". Not for logs (status-log.ts).
import { TapeproofError } from '../../base/index.ts';
import { encodeStatus, namedFields, statusLayout } from './block.ts';
import { STATUS_BYTES, type StatusField, type StatusUse } from './field.ts';

/** Hex of 1 to 24 bytes (spaces, colons, commas and 0x are allowed), or words. Throws `input`. */
export function parseStatus(text: string): Uint8Array {
  return isStatusHex(text) ? parseHex(text) : parseWords(text);
}

/** Whether the text is meant as a status, not as the path of a log. */
export function isTypedStatus(text: string): boolean {
  return isStatusHex(text) || /^\s*(consumer|professional)([\s;]|$)/.test(text);
}

function isStatusHex(text: string): boolean {
  return /^[\s:,-]*(?:(?:0x)?[0-9a-f]{2}[\s:,-]*)+$/i.test(text);
}

function parseHex(text: string): Uint8Array {
  const digits = text.replace(/0x/gi, '').replace(/[\s:,-]/g, '');
  const bytes = Uint8Array.from(digits.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
  if (bytes.length < 1 || bytes.length > STATUS_BYTES) {
    throw new TapeproofError('input', 'not a channel-status block', {
      expected: `1 to ${STATUS_BYTES} bytes in hex, the byte that is sent first in front`,
      found: `${bytes.length} bytes`,
    });
  }
  return bytes;
}

function parseWords(text: string): Uint8Array {
  const [use, ...rest] = text.trim().split(/[\s;]+(?=[a-z0-9-]+=)/i);
  if (use !== 'consumer' && use !== 'professional') {
    throw new TapeproofError('input', 'not a channel status', {
      expected: '1 to 24 bytes in hex, or words as in: consumer rate=44100 emphasis=50/15 copy=permitted',
      found: show(text),
    });
  }
  const codes: Record<string, number> = {};
  for (const pair of rest) {
    const [key, value] = [pair.slice(0, pair.indexOf('=')), pair.slice(pair.indexOf('=') + 1).trim()];
    codes[key] = codeOf(fieldOf(use, key), value);
  }
  return encodeStatus(use, codes);
}

function fieldOf(use: StatusUse, key: string): StatusField {
  const field = statusLayout(use).fields.find((one) => one.key === key && one.kind !== 'reserved' && key !== 'use');
  if (field) return field;
  throw new TapeproofError('input', `a ${use} block has no field "${key}"`, {
    expected: namedFields(use).slice(1).join(', '),
  });
}

/** By the words, the beginning of the words where that is unique, the number meant, or `#code`. */
function codeOf(field: StatusField, value: string): number {
  const code = /^#(\d+)$/.exec(value);
  if (code) return Number(code[1]);
  if (field.kind === 'text') return textCode(value);
  if (field.kind === 'number' && /^\d+$/.test(value)) return Number(value);
  const wanted = value.toLowerCase();
  const words = field.codes.map((one) => ({ ...one, words: one.words.toLowerCase() }));
  const exact = words.filter((one) => one.words === wanted || (one.number !== undefined && `${one.number}` === wanted));
  const begun = exact.length ? exact : words.filter((one) => wanted !== '' && one.words.startsWith(wanted));
  if (begun.length === 1) return begun[0].code;
  throw new TapeproofError('input', `field "${field.key}" cannot be ${show(value)}`, {
    expected: `${field.codes.map((one) => one.words).join(', ') || 'a whole number'}; or # and the code, as in #0`,
    next: begun.length > 1 ? `several begin so: ${begun.map((one) => one.words).join(', ')}` : 'use one of these words',
  });
}

function textCode(value: string): number {
  const text = value.replace(/^"(.*)"$/, '$1');
  if (/^[\x20-\x7e]{0,4}$/.test(text)) {
    return Array.from(text).reduce((sum, letter, i) => sum + letter.charCodeAt(0) * 2 ** (8 * i), 0);
  }
  throw new TapeproofError('input', 'a name that does not fit', {
    expected: 'up to four letters of plain ASCII',
    found: show(value),
  });
}

function show(text: string): string {
  return JSON.stringify(text.length > 60 ? `${text.slice(0, 57)}...` : text);
}

// Channel-status blocks of the interface (192 bits of one channel) taken apart into fields and put together again, exactly: every bit
// belongs to a field, so nothing is lost either way. Text and logs: status-text.ts, status-log.ts.
import { TapeproofError } from '../../base/index.ts';
import { statusCheckByte } from './check-byte.ts';
import { CONSUMER } from './consumer.ts';
import {
  STATUS_BYTES,
  type StatusCode,
  type StatusField,
  type StatusLayout,
  type StatusTopic,
  type StatusUse,
} from './field.ts';
import { PROFESSIONAL } from './professional.ts';

export interface StatusValue {
  readonly key: string;
  readonly label: string;
  readonly code: number;
  /** what the code means; "reserved code N" where no source names it */
  readonly words: string;
  readonly note?: string;
}

export interface StatusBlock {
  readonly use: StatusUse;
  readonly hex: string;
  readonly values: readonly StatusValue[];
  /** of a professional block whose last byte was seen; a consumer block has none */
  readonly check: { readonly found: number; readonly expected: number; readonly isRight: boolean } | null;
  /** bytes that were seen; the rest of a shorter one stands as zeros */
  readonly bytesSeen: number;
}

export function statusLayout(use: StatusUse): StatusLayout {
  return use === 'professional' ? PROFESSIONAL : CONSUMER;
}

/** `bytes`: lowest bit sent first; 1 to 24 of them, for displays often show the first four or five only. */
export function decodeStatus(bytes: Uint8Array): StatusBlock {
  if (bytes.length < 1 || bytes.length > STATUS_BYTES) {
    throw new TapeproofError('input', 'not a channel-status block', {
      expected: `1 to ${STATUS_BYTES} bytes`,
      found: `${bytes.length}`,
    });
  }
  const block = new Uint8Array(STATUS_BYTES);
  block.set(bytes);
  const use: StatusUse = block[0] & 1 ? 'professional' : 'consumer';
  const seen = statusLayout(use).fields.filter(({ bit }) => bit < 8 * bytes.length);
  const expected = statusCheckByte(block);
  const hasCheck = use === 'professional' && bytes.length === STATUS_BYTES;
  return {
    use,
    hex: hexOf(bytes),
    values: seen.map((field) => fieldValue(field, bitsOf(block, field))),
    check: hasCheck ? { found: block[23], expected, isRight: block[23] === expected } : null,
    bytesSeen: bytes.length,
  };
}

/** Fields that are not named are 0; a professional block gets its check byte unless `check` is named. Throws `input` for a code that does not fit. */
export function encodeStatus(use: StatusUse, codes: { readonly [key: string]: number }): Uint8Array {
  const { fields } = statusLayout(use);
  const unknown = Object.keys(codes).find((key) => !fields.some((field) => field.key === key));
  if (unknown !== undefined) {
    throw new TapeproofError('input', `a ${use} block has no field "${unknown}"`, {
      expected: namedFields(use).join(', '),
    });
  }
  const block = new Uint8Array(STATUS_BYTES);
  for (const field of fields) putBits(block, field, codes[field.key] ?? 0);
  if (use === 'professional') {
    block[0] |= 1;
    if (codes.check === undefined) block[23] = statusCheckByte(block);
  }
  return block;
}

/** Keys of the fields that mean something. */
export function namedFields(use: StatusUse): string[] {
  return statusLayout(use)
    .fields.filter(({ kind }) => kind !== 'reserved')
    .map(({ key }) => key);
}

/** The value of a topic, with its code as the tables know it; undefined where the block was not seen so far. */
export function statusTopic(
  block: StatusBlock,
  topic: StatusTopic,
): { readonly value: StatusValue; readonly code: StatusCode | undefined } | undefined {
  const field = statusLayout(block.use).fields.find((one) => one.topic === topic);
  const value = field && block.values.find(({ key }) => key === field.key);
  return value && { value, code: field.codes.find(({ code }) => code === value.code) };
}

function fieldValue(field: StatusField, code: number): StatusValue {
  const known = field.codes.find((one) => one.code === code);
  const { key, label } = field;
  return { key, label, code, words: wordsOf(field, code, known), ...(known?.note ? { note: known.note } : {}) };
}

function wordsOf(field: StatusField, code: number, known: StatusCode | undefined): string {
  if (known) return known.words;
  if (field.kind === 'text') return textOf(code);
  if (field.kind === 'number') return field.key === 'check' ? `0x${code.toString(16).padStart(2, '0')}` : `${code}`;
  if (field.kind === 'reserved') return code === 0 ? 'zero' : `0x${code.toString(16)}`;
  return `reserved code ${code}`;
}

/** Four characters of seven bits, lowest byte first; the eighth bit was parity in the first edition and is not looked at. */
function textOf(code: number): string {
  const bytes = [0, 8, 16, 24].map((shift) => (code >>> shift) & 0x7f);
  if (bytes.every((byte) => byte === 0)) return 'none';
  const letters = bytes.map((byte) => (byte >= 32 && byte < 127 ? String.fromCharCode(byte) : '.'));
  return `"${letters.join('')}"`;
}

function bitsOf(block: Uint8Array, { bit, width }: StatusField): number {
  let code = 0;
  for (let i = 0; i < width; i++) {
    const at = bit + i;
    if ((block[at >> 3] >> (at & 7)) & 1) code += 2 ** i;
  }
  return code;
}

function putBits(block: Uint8Array, { key, bit, width }: StatusField, code: number): void {
  if (!Number.isSafeInteger(code) || code < 0 || code >= 2 ** width) {
    throw new TapeproofError('input', `a code that does not fit field "${key}"`, {
      expected: `a whole number from 0 to ${2 ** width - 1}`,
      found: `${code}`,
    });
  }
  for (let i = 0; i < width; i++) {
    const at = bit + i;
    if (Math.floor(code / 2 ** i) % 2) block[at >> 3] |= 1 << (at & 7);
  }
}

export function hexOf(bytes: Uint8Array): string {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

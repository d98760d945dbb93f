// One field of a channel-status block: where its bits lie and what its codes mean. The tables are professional.ts and consumer.ts;
// taking blocks apart and putting them together is block.ts. Not for judging a recording by what a flag says.
import type { Certainty } from '../fact.ts';

/** What other parts of the program ask a block for; the same word in both layouts. */
export type StatusTopic = 'rate' | 'word' | 'emphasis' | 'non-audio' | 'copy' | 'category';

export interface StatusCode {
  readonly code: number;
  /** short words, unique within the field; what people type and read */
  readonly words: string;
  /** the number meant: Hz for a rate, bits for a word length */
  readonly number?: number;
  readonly certainty: Certainty;
  readonly note?: string;
}

export interface StatusField {
  /** kebab-case, unique within the layout */
  readonly key: string;
  readonly label: string;
  /** first bit as sent, 0 to 191: byte * 8 + bit, lowest bit first */
  readonly bit: number;
  /** 1 to 32 */
  readonly width: number;
  readonly kind: 'code' | 'number' | 'text' | 'reserved';
  readonly codes: readonly StatusCode[];
  readonly topic?: StatusTopic;
}

export type StatusUse = 'professional' | 'consumer';

export interface StatusLayout {
  readonly use: StatusUse;
  /** in the order of the bits; every bit of the block belongs to exactly one */
  readonly fields: readonly StatusField[];
}

export const STATUS_BYTES = 24;

type Row = readonly [code: number, words: string, certainty: Certainty, number?: number | undefined, note?: string];

export function codeField(
  [byte, bit, width]: readonly [byte: number, bit: number, width: number],
  key: string,
  label: string,
  rows: readonly Row[],
  topic?: StatusTopic,
): StatusField {
  const codes = rows.map(([code, words, certainty, number, note]) => ({
    ...{ code, words, certainty },
    ...(number === undefined ? {} : { number }),
    ...(note === undefined ? {} : { note }),
  }));
  return { key, label, bit: 8 * byte + bit, width, kind: 'code', codes, ...(topic ? { topic } : {}) };
}

export function plainField(
  kind: 'number' | 'text' | 'reserved',
  [byte, bit, width]: readonly [byte: number, bit: number, width: number],
  key: string,
  label: string,
): StatusField {
  return { key, label, bit: 8 * byte + bit, width, kind, codes: [] };
}

/** The first two bits mean the same in both layouts: they say which of the two it is. */
export const FIRST_BITS: readonly StatusField[] = [
  codeField([0, 0, 1], 'use', 'use of the block', [
    [0, 'consumer', 'T'],
    [1, 'professional', 'T'],
  ]),
  codeField(
    [0, 1, 1],
    'non-audio',
    'kind of data',
    [
      [0, 'linear PCM', 'T'],
      [1, 'not linear PCM', 'T'],
    ],
    'non-audio',
  ),
];

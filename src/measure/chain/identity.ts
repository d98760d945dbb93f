// The words by which a cell names itself: 96 bits with a checksum, sent as chips under which the noise goes on. Not for finding the cell (find-marks.ts).
import { rate } from '../../base/index.ts';
import { type ChainSignal, WORD_BITS } from './layout.ts';

export interface CellName {
  readonly signal: ChainSignal;
  readonly cell: number;
}

/** Width of each field in the order they are sent, most significant bit first; the checksum follows. */
const FIELDS = [4, 5, 16, 16, 26, 10, 3] as const;
const CRC_BITS = 16;

export function cellBits({ signal, cell }: CellName): number[] {
  const { version, bits, cells, rate: at } = signal;
  const values = [version, bits, cells, cell, at.num, at.den, 0];
  const body = FIELDS.flatMap((width, k) => bitsOf(values[k], width));
  return [...body, ...bitsOf(crc16(body), CRC_BITS)];
}

/** Undefined where the checksum or a field is wrong; wrong bits pass it once in 65 536 times. */
export function readCellBits(bits: readonly number[]): CellName | undefined {
  const body = bits.slice(0, WORD_BITS - CRC_BITS);
  if (bits.length !== WORD_BITS || numberOf(bits.slice(WORD_BITS - CRC_BITS)) !== crc16(body)) return undefined;
  let at = 0;
  const [version, width, cells, cell, num, den, spare] = FIELDS.map((size) => numberOf(body.slice(at, (at += size))));
  if (num === 0 || den === 0 || spare !== 0 || cell >= cells) return undefined;
  return { signal: { version, bits: width, rate: rate(num, den), cells }, cell };
}

function bitsOf(value: number, width: number): number[] {
  return Array.from({ length: width }, (_, k) => Math.floor(value / 2 ** (width - 1 - k)) % 2);
}

function numberOf(bits: readonly number[]): number {
  return bits.reduce((sum, bit) => 2 * sum + bit, 0);
}

/** Polynomial x^16 + x^12 + x^5 + 1, preset to ones (ITU-T V.41; certainty M). */
function crc16(bits: readonly number[]): number {
  let crc = 0xffff;
  for (const bit of bits) {
    const isOut = ((crc >>> 15) ^ bit) & 1;
    crc = ((crc << 1) & 0xffff) ^ (isOut ? 0x1021 : 0);
  }
  return crc;
}

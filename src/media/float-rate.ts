// Sampling rates that a header stores as a floating-point number, as exact rationals: 48000, 44100/1.001, 4500000/143.
// Not for rates a person types (base/rate).
import { type Rate, rate, TapeproofError } from '../base/index.ts';

/** A double next to a fraction is off by at most half of its last bit. */
const TOLERANCE = 2 ** -52;
const MOST_DENOMINATOR = 1_000_000;
const MOST_HZ = 2 ** 32;

/** The fraction of smallest denominator that the number can stand for. Throws `input` unless it is 1 Hz or more and finite. */
export function rateFromFloat(value: number, path: string, offset: number): Rate {
  if (!(value >= 1 && value < MOST_HZ)) {
    const next = 'capture again, or repair the header in a copy of the file';
    const detail = { path, offset, expected: '1 Hz or more', found: `${value} Hz`, next };
    throw new TapeproofError('input', 'the header says an impossible sampling rate', detail);
  }
  let [beforeNum, beforeDen, num, den] = [0, 1, 1, 0];
  for (let rest = value; ; ) {
    const whole = Math.floor(rest);
    const nextDen = whole * den + beforeDen;
    if (nextDen > MOST_DENOMINATOR) break;
    [beforeNum, beforeDen, num, den] = [num, den, whole * num + beforeNum, nextDen];
    if (Math.abs(num / den - value) <= value * TOLERANCE) break;
    rest = 1 / (rest - whole);
  }
  return rate(num, den);
}

/** 80-bit extended precision, big-endian: sign and 15 bits of exponent, then 64 bits of mantissa with the one written out. */
export function float80(bytes: Uint8Array, at: number): number {
  const view = new DataView(bytes.buffer, bytes.byteOffset + at, 10);
  const head = view.getUint16(0);
  const exponent = head & 0x7fff;
  const mantissa = view.getUint32(2) * 2 ** 32 + view.getUint32(6);
  if (exponent === 0x7fff) return Number.NaN;
  return (head & 0x8000 ? -1 : 1) * mantissa * 2 ** (exponent - 16_383 - 63);
}

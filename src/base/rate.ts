// Sampling rates as exact rationals (4500000/143 Hz is a rate) and conversions at the edges. Not for clocks or time of day.
import { TapeproofError } from './errors.ts';

/** num/den in Hz, reduced, both positive integers. */
export interface Rate {
  readonly num: number;
  readonly den: number;
}

function gcd(a: number, b: number): number {
  return b === 0 ? a : gcd(b, a % b);
}

/** Throws `input` unless both are positive safe integers. */
export function rate(num: number, den = 1): Rate {
  if (!Number.isSafeInteger(num) || !Number.isSafeInteger(den) || num <= 0 || den <= 0) {
    throw new TapeproofError('input', 'not a sampling rate', {
      expected: 'two positive integers, as in 48000 or 4500000/143',
      found: `${num}/${den}`,
    });
  }
  const divisor = gcd(num, den);
  return Object.freeze({ num: num / divisor, den: den / divisor });
}

/** Accepts "48000", "44.1k" style kilohertz and "4500000/143". */
export function parseRate(text: string): Rate {
  const fraction = /^\s*(\d+)\s*\/\s*(\d+)\s*$/.exec(text);
  if (fraction) return rate(Number(fraction[1]), Number(fraction[2]));
  const decimal = /^\s*(\d+)(?:\.(\d{1,6}))?\s*(k?)\s*(?:Hz)?\s*$/i.exec(text);
  if (!decimal) return rate(Number.NaN);
  const digits = decimal[2] ?? '';
  const scale = 10 ** digits.length;
  return rate(Number(decimal[1] + digits) * (decimal[3] ? 1000 : 1), scale);
}

export function rateHz(value: Rate): number {
  return value.num / value.den;
}

export function sameRate(a: Rate, b: Rate): boolean {
  return a.num === b.num && a.den === b.den;
}

/** "48000 Hz", or "31468.531 Hz (4500000/143)" where the rate is no integer. */
export function formatRate(value: Rate): string {
  return value.den === 1 ? `${value.num} Hz` : `${rateHz(value).toFixed(3)} Hz (${value.num}/${value.den})`;
}

export function secondsOf(frames: number, at: Rate): number {
  return (frames * at.den) / at.num;
}

/** h:mm:ss.mmm, for people. Negative positions keep their sign. */
export function formatTime(frames: number, at: Rate): string {
  const totalMs = Math.round(Math.abs(secondsOf(frames, at)) * 1000);
  const pad = (value: number, width: number) => String(value).padStart(width, '0');
  const h = Math.floor(totalMs / 3_600_000);
  const m = Math.floor(totalMs / 60_000) % 60;
  const s = Math.floor(totalMs / 1000) % 60;
  return `${frames < 0 ? '-' : ''}${h}:${pad(m, 2)}:${pad(s, 2)}.${pad(totalMs % 1000, 3)}`;
}

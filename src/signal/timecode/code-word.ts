// The 80 bits of a linear timecode word (IEC 60461, SMPTE 12M; table in formats.md 11): 64 data bits and the sync word, packed and
// unpacked. Not for the signal that carries them.
import type { TimeAddress } from './time-address.ts';

/** Data bits 0-31 and 32-63, each as an unsigned number whose lowest bit was sent first. */
export interface CodeWord {
  readonly low: number;
  readonly high: number;
}

export interface WordFields {
  readonly address: TimeAddress;
  readonly isDrop: boolean;
  readonly isColourFrame: boolean;
  /** user groups 1 to 8, 0..15 */
  readonly user: readonly number[];
  /** bits 27, 43, 58, 59: what they mean depends on the rate (`flagsOf`) */
  readonly bits: readonly [bit27: boolean, bit43: boolean, bit58: boolean, bit59: boolean];
}

/** In the order sent: bits 64 to 79. */
export const SYNC_BITS = '0011111111111101';
export const WORD_BITS = 80;

const USER_SHIFTS = [4, 12, 20, 28];

export function unpackWord({ low, high }: CodeWord): WordFields {
  const at = (half: number, shift: number, mask: number) => (half >>> shift) & mask;
  return {
    address: {
      hours: at(high, 16, 15) + 10 * at(high, 24, 3),
      minutes: at(high, 0, 15) + 10 * at(high, 8, 7),
      seconds: at(low, 16, 15) + 10 * at(low, 24, 7),
      frames: at(low, 0, 15) + 10 * at(low, 8, 3),
    },
    isDrop: at(low, 10, 1) === 1,
    isColourFrame: at(low, 11, 1) === 1,
    user: [...USER_SHIFTS.map((shift) => at(low, shift, 15)), ...USER_SHIFTS.map((shift) => at(high, shift, 15))],
    bits: [at(low, 27, 1) === 1, at(high, 11, 1) === 1, at(high, 26, 1) === 1, at(high, 27, 1) === 1],
  };
}

/** Digits that are no digits (a frame unit of 12, minute 75) tell a word that is none. */
export function hasPossibleDigits({ low, high }: CodeWord): boolean {
  const units = [low & 15, (low >>> 16) & 15, high & 15, (high >>> 16) & 15];
  const { hours, minutes, seconds, frames } = unpackWord({ low, high }).address;
  return units.every((digit) => digit < 10) && hours < 24 && minutes < 60 && seconds < 60 && frames < 30;
}

/** Share of evenly random data words whose digits are possible: (10/16)^4 units, 3/4 frame tens, 6/8 twice, 24/40 of hours. */
export const POSSIBLE_SHARE = (10 / 16) ** 3 * (3 / 4) * (6 / 8) ** 2 * (24 / 64);

export interface NewWord extends Partial<Omit<WordFields, 'bits'>> {
  readonly address: TimeAddress;
  /** binary group flags 0 to 2 */
  readonly groupFlags?: readonly [boolean, boolean, boolean];
}

/** The word with its polarity bit set so that the count of zeros is even. `count`: the numbering decides where flags stand. */
export function packWord(word: NewWord, count: 24 | 25 | 30): CodeWord {
  const { address, isDrop = false, isColourFrame = false, user = [], groupFlags = [false, false, false] } = word;
  const digits = (value: number) => (value % 10) | (Math.floor(value / 10) << 8);
  const users = (from: number) =>
    USER_SHIFTS.reduce((sum, shift, i) => sum | (((user[from + i] ?? 0) & 15) << shift), 0);
  const [first, second, third] = groupFlags.map(Number);
  let low = digits(address.frames) | (digits(address.seconds) << 16) | users(0);
  let high = digits(address.minutes) | (digits(address.hours) << 16) | users(4);
  low |= (Number(isDrop) << 10) | (Number(isColourFrame) << 11);
  if (count === 25) {
    low |= first << 27;
    high |= (third << 11) | (second << 26);
  } else high |= (first << 11) | (second << 26) | (third << 27);
  if (!hasEvenZeros({ low, high })) {
    if (count === 25) high |= 1 << 27;
    else low |= 1 << 27;
  }
  return { low: low >>> 0, high: high >>> 0 };
}

/** The polarity bit makes it so in every word of a generator that sets it. */
export function hasEvenZeros({ low, high }: CodeWord): boolean {
  // 80 is even, so the ones are even too; the sync word has 13.
  return (onesOf(low) + onesOf(high) + 13) % 2 === 0;
}

/** Binary group flags 0 to 2 and the polarity bit at their places for the rate. */
export function flagsOf({ bits: [bit27, bit43, bit58, bit59] }: Pick<WordFields, 'bits'>, count: 24 | 25 | 30) {
  return count === 25
    ? { groupFlags: [bit27, bit58, bit43] as const, polarity: bit59 }
    : { groupFlags: [bit43, bit58, bit59] as const, polarity: bit27 };
}

/** What the group flags say of the user bits (formats.md 11); the combinations not listed there are reserved. */
export function userBitsUse(groupFlags: readonly boolean[]): string {
  const key = groupFlags.map(Number).join('');
  const known: { readonly [key: string]: string } = {
    '000': 'unspecified',
    '100': '8-bit characters',
    '001': 'date and time zone',
    '101': 'page and line',
    '010': 'clock time',
  };
  return known[key] ?? 'reserved';
}

/** All 80 bits as they are sent. */
export function bitsOf({ low, high }: CodeWord): string {
  const half = (value: number) => Array.from({ length: 32 }, (_, i) => (value >>> i) & 1).join('');
  return half(low) + half(high) + SYNC_BITS;
}

function onesOf(value: number): number {
  let ones = 0;
  for (let rest = value >>> 0; rest !== 0; rest = (rest & (rest - 1)) >>> 0) ones++;
  return ones;
}

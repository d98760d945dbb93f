// The worked example of formats.md 11 (from R44), bit by bit and byte by byte; every field of the layout by itself.
import { describe, expect, it } from 'vitest';
import {
  bitsOf,
  flagsOf,
  hasEvenZeros,
  hasPossibleDigits,
  packWord,
  SYNC_BITS,
  unpackWord,
  userBitsUse,
} from './code-word.ts';

const EXAMPLE_BYTES = [0x13, 0x29, 0x35, 0x4c, 0x53, 0x6a, 0x71, 0x88];
const EXAMPLE_BITS =
  '11001000 10010100 10101100 00110010 11001010 01010110 10001110 00010001 00111111 11111101'.replaceAll(' ', '');

const word32 = (bytes: readonly number[]) => bytes.reduce((sum, byte, i) => sum + byte * 256 ** i, 0);
const EXAMPLE = { low: word32(EXAMPLE_BYTES.slice(0, 4)), high: word32(EXAMPLE_BYTES.slice(4)) };

describe('a code word', () => {
  it('of 01:23:45:13 with user bits 1 to 8 is the published one', () => {
    const fields = unpackWord(EXAMPLE);
    expect(fields.address).toEqual({ hours: 1, minutes: 23, seconds: 45, frames: 13 });
    expect(fields.user).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect(bitsOf(EXAMPLE)).toBe(EXAMPLE_BITS);
    expect([...EXAMPLE_BITS].filter((bit) => bit === '0')).toHaveLength(40);
    expect(hasEvenZeros(EXAMPLE)).toBe(true);
    const groupFlags = flagsOf(fields, 25).groupFlags;
    const again = packWord({ ...fields, groupFlags }, 25);
    expect(again).toEqual(EXAMPLE);
  });

  it('has a sync word that reads 1011111111111100 backwards', () => {
    expect([...SYNC_BITS].reverse().join('')).toBe('1011111111111100');
  });

  it.each([24, 25, 30] as const)('of %i frames keeps every field and makes the zeros even', (count) => {
    for (const [address, user, flags] of [
      [{ hours: 23, minutes: 59, seconds: 59, frames: count - 1 }, [15, 0, 15, 0, 15, 0, 15, 0], [true, false, false]],
      [{ hours: 0, minutes: 0, seconds: 0, frames: 0 }, [0, 0, 0, 0, 0, 0, 0, 0], [false, false, false]],
      [{ hours: 19, minutes: 8, seconds: 7, frames: 16 }, [9, 8, 7, 6, 5, 4, 3, 2], [false, true, true]],
    ] as const) {
      for (const isColourFrame of [false, true]) {
        const word = packWord({ address, user, groupFlags: flags, isDrop: count === 30, isColourFrame }, count);
        const back = unpackWord(word);
        expect([back.address, back.user, back.isColourFrame, back.isDrop]).toEqual([
          address,
          user,
          isColourFrame,
          count === 30,
        ]);
        expect(flagsOf(back, count).groupFlags).toEqual(flags);
        expect([...bitsOf(word)].filter((bit) => bit === '0').length % 2).toBe(0);
        expect(hasPossibleDigits(word)).toBe(true);
      }
    }
  });

  it('with digits that are none is refused', () => {
    expect(hasPossibleDigits({ low: 12, high: 0 })).toBe(false);
    expect(hasPossibleDigits({ low: 7 << 24, high: 0 })).toBe(false);
    expect(hasPossibleDigits({ low: 0, high: (2 << 24) | (4 << 16) })).toBe(false);
  });

  it('says what its user bits are for', () => {
    expect(userBitsUse([false, false, false])).toBe('unspecified');
    expect(userBitsUse([true, false, false])).toBe('8-bit characters');
    expect(userBitsUse([true, true, true])).toBe('reserved');
  });
});

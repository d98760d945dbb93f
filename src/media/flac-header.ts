// The header of one FLAC frame (RFC 9639 section 9.1). Pure: works on bytes at hand.
import { crc8 } from './flac-crc.ts';

export interface FlacFrameHeader {
  readonly isVariable: boolean;
  readonly blockSize: number;
  /** 0 = as in STREAMINFO */
  readonly rateHz: number;
  readonly channels: number;
  readonly stereo: 'independent' | 'left-side' | 'side-right' | 'mid-side';
  /** 0 = as in STREAMINFO */
  readonly bits: number;
  /** frame number, or number of the first sample when `isVariable` */
  readonly number: number;
  /** bytes of the header with its CRC */
  readonly length: number;
}

export const MOST_HEADER_BYTES = 16;
/** Table of section 9.1.2, codes 0 to 11; 12 to 14 are read from the end of the header. */
const RATES_HZ = [0, 88_200, 176_400, 192_000, 8000, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000, 96_000];
/** Section 9.1.4; -1 is reserved. */
const BITS = [0, 8, 12, -1, 16, 20, 24, 32];
const STEREO = ['left-side', 'side-right', 'mid-side'] as const;

/** Undefined when there is no header at `at`, or its CRC is wrong, or it uses a reserved code, or `end` cuts it. */
export function parseFlacHeader(bytes: Uint8Array, at: number, end: number): FlacFrameHeader | undefined {
  if (at + 6 > end || bytes[at] !== 0xff || (bytes[at + 1] & 0xfe) !== 0xf8) return undefined;
  const blockCode = bytes[at + 2] >> 4;
  const rateCode = bytes[at + 2] & 15;
  const channelCode = bytes[at + 3] >> 4;
  const bits = BITS[(bytes[at + 3] >> 1) & 7];
  if (blockCode === 0 || rateCode === 15 || channelCode > 10 || bits < 0 || bytes[at + 3] & 1) return undefined;
  const coded = codedNumber(bytes, at + 4, end);
  if (!coded) return undefined;
  const blockBytes = blockCode === 6 ? 1 : blockCode === 7 ? 2 : 0;
  const rateBytes = rateCode === 12 ? 1 : rateCode > 12 ? 2 : 0;
  const rateAt = coded.next + blockBytes;
  const crcAt = rateAt + rateBytes;
  if (crcAt >= end || crc8(bytes, at, crcAt) !== bytes[crcAt]) return undefined;
  const blockSize = blockBytes ? bigEndian(bytes, coded.next, blockBytes) + 1 : usualBlockSize(blockCode);
  if (blockSize > 65_535) return undefined;
  return {
    isVariable: (bytes[at + 1] & 1) === 1,
    blockSize,
    rateHz: rateBytes ? bigEndian(bytes, rateAt, rateBytes) * [1000, 1, 10][rateCode - 12] : RATES_HZ[rateCode],
    channels: channelCode < 8 ? channelCode + 1 : 2,
    stereo: channelCode < 8 ? 'independent' : STEREO[channelCode - 8],
    bits,
    number: coded.value,
    length: crcAt + 1 - at,
  };
}

/** Section 9.1.1 */
function usualBlockSize(code: number): number {
  return code === 1 ? 192 : code <= 5 ? 576 << (code - 2) : 256 << (code - 8);
}

function bigEndian(bytes: Uint8Array, at: number, count: number): number {
  return count === 1 ? bytes[at] : (bytes[at] << 8) | bytes[at + 1];
}

/** Section 9.1.5: like UTF-8, up to seven bytes and 36 bits. */
function codedNumber(bytes: Uint8Array, at: number, end: number): { value: number; next: number } | undefined {
  const ones = Math.clz32(~(bytes[at] << 24));
  if (ones === 1 || ones > 7) return undefined;
  const count = Math.max(1, ones);
  if (at + count > end) return undefined;
  let value = bytes[at] & (0xff >> (ones + (ones ? 1 : 0)));
  for (let i = 1; i < count; i++) {
    if ((bytes[at + i] & 0xc0) !== 0x80) return undefined;
    value = value * 64 + (bytes[at + i] & 0x3f);
  }
  return { value, next: at + count };
}

// File sizes against the check values of the trade notes, section C (calc): 62.1, 372.8 and 248.6 minutes to 2^32 bytes at 48 kHz, and
// 7.46 GB for eight channels of 24 bits over 108 minutes. Tolerance: the last printed digit.
import { expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { captureSize, GIB } from './storage.ts';

const AT_48K = rate(48_000);

it.each([
  [8, 24, 62.1],
  [2, 16, 372.8],
  [2, 24, 248.6],
])('%i channels of %i bits reach 4 GiB after %f min', (channels, bits, minutes) => {
  expect(captureSize(channels, bits, AT_48K, 400, null).minutesTo4GiB).toBeCloseTo(minutes, 1);
  expect(captureSize(channels, bits, AT_48K, 400, null).minutesTo2GiB).toBeCloseTo(minutes / 2, 1);
  expect(captureSize(channels, bits, AT_48K, minutes - 1, null).minutesTo4GiB).toBeNull();
});

it('108 minutes of eight channels of 24 bits are 7.46 GB and split once at 4 GiB', () => {
  const size = captureSize(8, 24, AT_48K, 108, 4 * GIB);
  expect(size.bytes / 1e9).toBeCloseTo(7.46, 2);
  expect(size.splitMinutes.map((at) => Math.round(at * 10) / 10)).toEqual([62.1]);
});

it('20-bit words take three bytes; rates may be no whole numbers', () => {
  expect(captureSize(1, 20, rate(4_500_000, 143), 1, null).bytes - 4096).toBe(Math.ceil((3 * 60 * 4_500_000) / 143));
});

it('a tiny file limit gives no endless list', () => {
  expect(captureSize(2, 16, AT_48K, 100, 1).splitMinutes.length).toBeLessThanOrEqual(1000);
});

// Size of a capture's file and where it passes the limits of file systems and containers. Arithmetic only.
import { type Rate, rateHz } from '../base/index.ts';
import type { TvSystem } from '../tape/index.ts';

export const GIB = 2 ** 30;
/** Room for header and notes of a WAVE file; the samples are millions of times more. */
const HEADER_BYTES = 4096;

export interface CaptureSize {
  readonly bytes: number;
  /** minutes into the capture at which 2 GiB and 4 GiB are reached; null: never within it */
  readonly minutesTo2GiB: number | null;
  readonly minutesTo4GiB: number | null;
  /** minutes at which the recorder begins its next file */
  readonly splitMinutes: readonly number[];
}

/** Bytes of one frame of one channel: words are padded to whole bytes (WAVE; standards note 1.1). */
export function bytesOfWord(bits: number): number {
  return Math.ceil(bits / 8);
}

export function bytesPerMinute(channels: number, bits: number, rate: Rate): number {
  return channels * bytesOfWord(bits) * rateHz(rate) * 60;
}

/** `fileLimit` in bytes, null where the recorder has none. */
export function captureSize(
  channels: number,
  bits: number,
  rate: Rate,
  minutes: number,
  fileLimit: number | null,
): CaptureSize {
  return sizeAt(bytesPerMinute(channels, bits, rate), minutes, fileLimit);
}

/** DV stream: 120 000 bytes in 1001/30000 s (525) or 144 000 in 1/25 s (625), picture and all (formats sheet 4.2, R18 R19). */
export function streamSize(system: TvSystem | null, minutes: number, fileLimit: number | null): CaptureSize {
  const perSecond = system === '525/60' ? (120_000 * 30_000) / 1001 : 144_000 * 25;
  return sizeAt(60 * perSecond, minutes, fileLimit);
}

function sizeAt(perMinute: number, minutes: number, fileLimit: number | null): CaptureSize {
  const reach = (bytes: number) => (bytes / perMinute < minutes ? bytes / perMinute : null);
  const part = fileLimit === null ? Number.POSITIVE_INFINITY : Math.max(1, fileLimit - HEADER_BYTES) / perMinute;
  const splits: number[] = [];
  for (let at = part; at < minutes && splits.length < 1000; at += part) splits.push(at);
  return {
    bytes: Math.ceil(perMinute * minutes) + HEADER_BYTES,
    minutesTo2GiB: reach(2 * GIB),
    minutesTo4GiB: reach(4 * GIB),
    splitMinutes: splits,
  };
}

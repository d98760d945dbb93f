// Sizes of a DIF frame in both television systems, and where its blocks lie. Numbers only; nothing here reads a file.
// Source: R18 R19 (quoting IEC 61834-2 and SMPTE 314M), formats sheet 4.2 and 4.4, certainty S/T.
import { type Rate, rate } from '../../base/index.ts';

export const BLOCK_BYTES = 80;
export const SEQUENCE_BLOCKS = 150;
/** audio blocks in one sequence: A0 .. A8 */
export const AUDIO_BLOCKS = 9;
/** bytes of an audio block before its samples: three of identity, five of an auxiliary pack */
export const AUDIO_DATA_AT = 8;

export type DvRateHz = 48_000 | 44_100 | 32_000;

export interface DvSystem {
  readonly id: '525/60' | '625/50';
  /** sequences (tracks) of one DIF channel in one frame */
  readonly sequences: 10 | 12;
  /** bytes of one DIF channel in one frame */
  readonly frameBytes: number;
  readonly frameRate: Rate;
  /** fewest samples of a frame; AF_SIZE counts from here */
  readonly fewest: Readonly<Record<DvRateHz, number>>;
  readonly most: Readonly<Record<DvRateHz, number>>;
}

const SYSTEM_525: DvSystem = Object.freeze({
  id: '525/60',
  sequences: 10,
  frameBytes: 120_000,
  frameRate: Object.freeze({ num: 30_000, den: 1001 }),
  fewest: Object.freeze({ 48000: 1580, 44100: 1452, 32000: 1053 }),
  most: Object.freeze({ 48000: 1620, 44100: 1489, 32000: 1080 }),
});

const SYSTEM_625: DvSystem = Object.freeze({
  id: '625/50',
  sequences: 12,
  frameBytes: 144_000,
  frameRate: Object.freeze({ num: 25, den: 1 }),
  fewest: Object.freeze({ 48000: 1896, 44100: 1742, 32000: 1264 }),
  most: Object.freeze({ 48000: 1944, 44100: 1786, 32000: 1296 }),
});

export const DV_SYSTEMS: readonly DvSystem[] = [SYSTEM_525, SYSTEM_625];

/** By the system flag of the header block: 0 is 525 lines, 1 is 625. */
export function systemOf(flag: number): DvSystem {
  return flag === 0 ? SYSTEM_525 : SYSTEM_625;
}

/** Byte of the frame at which audio block k of a sequence begins. */
export function audioBlockAt(sequence: number, k: number): number {
  return (SEQUENCE_BLOCKS * sequence + 6 + 16 * k) * BLOCK_BYTES;
}

/** Samples per frame that a clock locked to the picture gives on average. */
export function meanSamples(system: DvSystem, rateHz: DvRateHz): Rate {
  return rate(rateHz * system.frameRate.den, system.frameRate.num);
}

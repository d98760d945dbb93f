// Timecode of known truth for tests: words in a row, written with or without noise, and read again. Not shipped.
import {
  addressOf,
  type CodeWord,
  frameNumber,
  type Numbering,
  packWord,
  Random,
  readTimecode,
  TimecodeDecoder,
  type TimecodeSignal,
  writeTimecode,
} from '../index.ts';

export interface TestRate {
  readonly name: string;
  readonly numbering: Numbering;
  readonly framesPerSecond: number;
}

const drop = (isDrop: boolean) => ({ count: 30, isDrop }) as const;

export const TIMECODE_RATES: readonly TestRate[] = [
  { name: '23.976', numbering: { count: 24, isDrop: false }, framesPerSecond: 24_000 / 1001 },
  { name: '24', numbering: { count: 24, isDrop: false }, framesPerSecond: 24 },
  { name: '25', numbering: { count: 25, isDrop: false }, framesPerSecond: 25 },
  { name: '29.97 drop', numbering: drop(true), framesPerSecond: 30_000 / 1001 },
  { name: '29.97', numbering: drop(false), framesPerSecond: 30_000 / 1001 },
  { name: '30', numbering: drop(false), framesPerSecond: 30 },
];

export const USER = [1, 9, 9, 1, 0, 3, 1, 7];

/** So many words from hh:mm:ss:00 on. */
export function wordsFrom(
  [hours, minutes, seconds]: readonly [number, number, number],
  count: number,
  { numbering }: Pick<TestRate, 'numbering'>,
): CodeWord[] {
  const first = frameNumber({ hours, minutes, seconds, frames: 0 }, numbering);
  return Array.from({ length: count }, (_, i) =>
    packWord({ address: addressOf(first + i, numbering), isDrop: numbering.isDrop, user: USER }, numbering.count),
  );
}

export interface MadeTimecode {
  readonly plane: Int32Array;
  readonly starts: readonly number[];
}

/** With white noise so many decibels below the signal (both as root mean square; the signal's is its peak); a peak of 16 bits, -6 dBFS. */
export function makeTimecode(
  words: readonly CodeWord[],
  signal: Omit<TimecodeSignal, 'peak'> & { readonly peak?: number; readonly noiseDb?: number },
): MadeTimecode {
  const { noiseDb, peak = 16_384 } = signal;
  const { samples, starts } = writeTimecode(words, { ...signal, peak });
  const random = new Random(5);
  const spread = noiseDb === undefined ? 0 : peak * 10 ** (-noiseDb / 20);
  return { plane: Int32Array.from(samples, (x) => Math.round(x + spread * random.gaussian())), starts };
}

export function readPlane(plane: Int32Array, rateHz = 48_000, block = plane.length) {
  const decoder = new TimecodeDecoder(rateHz);
  for (let at = 0; at < plane.length; at += block) decoder.push(plane.subarray(at, at + block));
  const words = decoder.finish();
  return { words, reading: readTimecode(words, rateHz, plane.length) };
}

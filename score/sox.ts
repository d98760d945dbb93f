// Decoding by sox, as integer planes. Not for the product: src/media has its own readers.
import { execFileSync, spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { type MusicPackage, musicFolder } from '../src/media/testing/music.ts';

export interface Decoding {
  readonly channels: number;
  readonly bits: 16 | 24;
  /** resampled to it where the file has another rate; never dithered */
  readonly rateHz: number;
  readonly fromSeconds?: number;
  readonly seconds?: number;
  /** factor: room for the overshoot of resampling, and to fill the low bits of a longer word than the file has */
  readonly volume?: number;
  /** single strokes, each with its own attack and end: joined so that the attack stays as it is */
  readonly isOneShots?: boolean;
}

/** Files one after the other, each to the same shape, joined as an editor joins takes: by a short crossfade, as a hard joint would
 * be a click that is really there. A file sox cannot read, or with fewer channels, is left out. */
export function decode(files: readonly string[], how: Decoding): Int32Array[] {
  const parts = files.map((file) => decodeOne(file, how)).filter((planes) => planes[0].length > 0);
  const most = Math.round(CROSSFADE_SECONDS * how.rateHz);
  return Array.from({ length: how.channels }, (_, c) => {
    const own = parts.map((planes) => planes[c]);
    return how.isOneShots ? overlaid(own, how.bits, how.rateHz) : crossfaded(own, most);
  });
}

const CROSSFADE_SECONDS = 0.02;
const FADE_IN_SECONDS = 0.0005;

/** A crossfade over the attack of a stroke would draw straight lines where its top is flat, and fades that do not overlap are a
 * short mute: the end of the one is faded out below the beginning of the next, which sounds in full but for half a millisecond. */
function overlaid(parts: readonly Int32Array[], bits: number, rateHz: number): Int32Array {
  const [rise, most] = [FADE_IN_SECONDS * rateHz, Math.round(CROSSFADE_SECONDS * rateHz)];
  const overlapAt = overlapsOf(parts, most);
  const joined = new Int32Array(joinedLength(parts, overlapAt));
  const highest = 2 ** (bits - 1) - 1;
  let end = 0;
  for (const [k, part] of parts.entries()) {
    const overlap = overlapAt(k);
    const start = end - overlap;
    for (let i = 0; i < part.length; i++) {
      const below = i < overlap ? joined[start + i] * (1 - (i + 0.5) / overlap) : 0;
      const sum = Math.round(part[i] * Math.min(1, (i + 0.5) / rise) + below);
      joined[start + i] = Math.max(-highest - 1, Math.min(highest, sum));
    }
    end = start + part.length;
  }
  return joined;
}

type OverlapAt = (k: number) => number;

/** No file loses more than half of itself. */
function overlapsOf(parts: readonly Int32Array[], most: number): OverlapAt {
  return (k) => (k === 0 ? 0 : Math.min(most, parts[k - 1].length >> 1, parts[k].length >> 1));
}

function joinedLength(parts: readonly Int32Array[], overlapAt: OverlapAt): number {
  return parts.reduce((sum, part, k) => sum + part.length - overlapAt(k), 0);
}

function crossfaded(parts: readonly Int32Array[], most: number): Int32Array {
  const overlapAt = overlapsOf(parts, most);
  const joined = new Int32Array(joinedLength(parts, overlapAt));
  let end = 0;
  for (const [k, part] of parts.entries()) {
    const overlap = overlapAt(k);
    const start = end - overlap;
    for (let i = 0; i < overlap; i++) {
      const share = (i + 0.5) / overlap;
      joined[start + i] = Math.round(joined[start + i] * (1 - share) + part[i] * share);
    }
    joined.set(part.subarray(overlap), end);
    end = start + part.length;
  }
  return joined;
}

function decodeOne(file: string, how: Decoding): Int32Array[] {
  const { channels, bits, rateHz, fromSeconds = 0, seconds, volume } = how;
  const format = ['-t', 'raw', '-e', 'signed-integer', '-b', '32', '-L', '-'];
  const effects = [
    'remix',
    ...Array.from({ length: channels }, (_, c) => `${c + 1}`),
    ...(seconds === undefined ? [] : ['trim', `${fromSeconds}`, `${seconds}`]),
    ...(volume === undefined ? [] : ['vol', `${volume}`]),
    ...['rate', '-v', `${rateHz}`],
  ];
  const raw = soxOrNothing(['-D', file, ...format, ...effects]) ?? Buffer.alloc(0);
  const whole = raw.length - (raw.length % (4 * channels));
  const words = new Int32Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + whole));
  return Array.from({ length: channels }, (_, c) => {
    const plane = new Int32Array(words.length / channels);
    for (let i = 0; i < plane.length; i++) plane[i] = words[channels * i + c] >> (32 - bits);
    return plane;
  });
}

function soxOrNothing(args: readonly string[]): Buffer | undefined {
  try {
    return execFileSync('sox', args, { maxBuffer: 2 ** 30, stdio: ['ignore', 'pipe', 'ignore'] });
  } catch {
    return undefined;
  }
}

/** Length of each file in seconds; 0 where sox cannot say. */
export function secondsOf(files: readonly string[]): number[] {
  const batches = Array.from({ length: Math.ceil(files.length / 100) }, (_, k) => files.slice(100 * k, 100 * k + 100));
  return batches.flatMap((batch) => {
    const together = durations(batch);
    return together.length === batch.length ? together : batch.map((file) => durations([file])[0] ?? 0);
  });
}

/** 0 where sox cannot say. */
export function channelsOf(file: string): number {
  return Number(spawnSync('sox', ['--info', '-c', file], { encoding: 'utf8' }).stdout);
}

/** One for each file that sox can read. */
function durations(files: readonly string[]): number[] {
  const { stdout } = spawnSync('sox', ['--info', '-D', ...files], { encoding: 'utf8' });
  return stdout.split('\n').filter(Boolean).map(Number);
}

export async function folderOf(name: MusicPackage): Promise<string> {
  const folder = await musicFolder(name);
  if (folder === undefined) throw new Error(`${name} cannot be fetched: no apt-get here?`);
  return folder;
}

/** Sorted, so that every machine has the same order. Links are left out: their sound would count twice. */
export function filesBelow(folder: string, endings: readonly string[]): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name))
    .filter((file) => endings.some((ending) => file.endsWith(ending)))
    .sort();
}

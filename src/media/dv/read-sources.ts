// What one frame says of its own sound: the source packs of both halves, first where they are quickest to read, then by the vote of
// all sequences where those two do not agree. Not for the samples.
import type { ByteFile } from '../byte-file.ts';
import { AAUX_AT, type AudioSource, parseSource, samplesOf, sourceBlockOf } from './aaux.ts';
import { audioBlockAt, BLOCK_BYTES, type DvSystem } from './dif-system.ts';
import type { DifPlace } from './walk-raw.ts';

export interface FrameSources {
  /** of the first audio block of the frame: it counts the samples */
  readonly first: AudioSource;
  /** of the second audio block; undefined where none could be read */
  readonly second: AudioSource | undefined;
  /** within a half not every pack that was looked at says the same of rate, word and number of samples */
  readonly doDiffer: boolean;
}

/** Undefined when no sequence has a readable pack. `system`: that of the place; `scratch`: five bytes to read a pack into. */
export async function readSources(
  file: ByteFile,
  place: DifPlace,
  system: DvSystem,
  scratch: Uint8Array,
): Promise<FrameSources | undefined> {
  const half = system.sequences / 2;
  const first = parseSource(place.head, packAt(0));
  const second = await sourceAt(file, place, half, scratch);
  if (first && second && isPossible(first, system) && isSame(first, second)) return { first, second, doDiffer: false };
  const sources = await allSources(file, place, system, scratch);
  return vote(sources, system, sources.filter((_, s) => packAt(s) + BLOCK_BYTES <= place.bytes).length);
}

function packAt(sequence: number): number {
  return audioBlockAt(sequence, sourceBlockOf(sequence)) + AAUX_AT;
}

async function sourceAt(
  file: ByteFile,
  { at, bytes }: DifPlace,
  sequence: number,
  scratch: Uint8Array,
): Promise<AudioSource | undefined> {
  const pack = packAt(sequence);
  if (pack + BLOCK_BYTES > bytes) return undefined;
  await file.readInto(scratch, at + pack);
  return parseSource(scratch, 0);
}

function isPossible(source: AudioSource, system: DvSystem): boolean {
  return samplesOf(source, system) !== undefined && source.is50Fields === (system.id === '625/50');
}

/** Whether the samples of both would be read in the same way. */
function isSame(a: AudioSource, b: AudioSource): boolean {
  return a.extra === b.extra && a.rateHz === b.rateHz && a.word === b.word;
}

/** One entry for each sequence of the first DIF channel. */
async function allSources(
  file: ByteFile,
  place: DifPlace,
  system: DvSystem,
  scratch: Uint8Array,
): Promise<(AudioSource | undefined)[]> {
  const sources: (AudioSource | undefined)[] = [];
  for (let s = 0; s < system.sequences; s++) {
    const source = await sourceAt(file, place, s, scratch);
    sources.push(source && isPossible(source, system) ? source : undefined);
  }
  return sources;
}

/**
 * `existing`: sequences whose pack is not cut off. The first audio block decides where it has a pack at all: in a 12-bit recording the two
 * halves may count differently.
 */
function vote(
  sources: readonly (AudioSource | undefined)[],
  system: DvSystem,
  existing: number,
): FrameSources | undefined {
  const half = system.sequences / 2;
  const own = majority(sources.slice(0, half));
  const second = majority(sources.slice(half));
  const first = own ?? second;
  if (!first) return undefined;
  // Each half has its own count: only within a half is a difference damage.
  const ofHalf = [own ?? first, second ?? first];
  const doDiffer = sources
    .slice(0, existing)
    .some((source, s) => source === undefined || !isSame(source, ofHalf[s < half ? 0 : 1]));
  return { first, second, doDiffer };
}

/** The earliest of the most frequent. */
function majority(sources: readonly (AudioSource | undefined)[]): AudioSource | undefined {
  let best: AudioSource | undefined;
  let most = 0;
  for (const source of sources) {
    if (!source) continue;
    const votes = sources.filter((other) => other && isSame(other, source)).length;
    if (votes > most) [best, most] = [source, votes];
  }
  return best;
}

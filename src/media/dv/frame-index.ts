// Looks through a DV file once before anything is read from it: where every frame lies, how many samples it has, and where the
// mode of the sound changes. Reads some 6 kB of each frame. Says what it found; judges nothing.
import { TapeproofError } from '../../base/index.ts';
import type { ByteFile } from '../byte-file.ts';
import {
  DECLARED_INVALID,
  FrameTable,
  HEADER_DAMAGED,
  NO_SOUND,
  ODD_MODE,
  PACKS_DIFFER,
  SHORT,
} from '../framed/frame-table.ts';
import { type AudioSource, NOTHING_RECORDED, samplesOf } from './aaux.ts';
import { parseHeader } from './dif-identity.ts';
import { type DvSystem, meanSamples } from './dif-system.ts';
import type { DvMode } from './dv-mode.ts';
import { type FrameSources, readSources } from './read-sources.ts';
import { type DifPlace, frameSize } from './walk-raw.ts';

export interface DvSegment {
  readonly mode: DvMode;
  readonly table: FrameTable;
  /** frames of the file before it */
  readonly firstFrame: number;
  /** the second pair of a four-channel recording is there in some frame */
  hasSecondPair: boolean;
  /** frames whose header names the other system */
  wrongSystem: number;
}

export interface DvIndex {
  readonly segments: readonly DvSegment[];
  /** bytes between frames */
  readonly strayBytes: number;
  readonly firstStrayAt: number;
  readonly frames: number;
  /** frames of a system that has no readable pack near them; they belong to no segment */
  readonly unplaced: number;
  /** what the sound is that cannot be read, e.g. "20-bit words" */
  readonly unreadable: ReadonlyMap<string, number>;
}

interface Waiting {
  readonly at: number;
  readonly bytes: number;
  readonly system: DvSystem;
  readonly flags: number;
}

interface OddFrame {
  readonly at: number;
  readonly bytes: number;
  readonly flags: number;
  readonly mode: DvMode;
  readonly sources: FrameSources;
  readonly isSystemWrong: boolean;
}

/** Frames without sound before the first that has some, ten hours of them: more are no lead-in. */
const MOST_WAITING = 1_000_000;
/** Frames of which a wrapper has the place and no byte, an hour of them: more are no dropped frames but a damaged index. */
const MOST_EMPTY = 100_000;

export async function indexFrames(file: ByteFile, places: AsyncIterable<DifPlace>): Promise<DvIndex> {
  const builder = new IndexBuilder();
  const scratch = new Uint8Array(5);
  let empty = 0;
  for await (const place of places) {
    const { system } = place;
    if (place.bytes === 0 && ++empty > MOST_EMPTY) throw tooEmpty(file);
    if (!system) builder.stray(place);
    else builder.frame(place, system, await readSources(file, place, system, scratch));
  }
  return builder.finish();
}

function tooEmpty({ path }: ByteFile): TapeproofError {
  const expected = `at most ${MOST_EMPTY} frames without a byte`;
  return new TapeproofError('limit', 'far too many dropped frames: the index is probably damaged', { path, expected });
}

class IndexBuilder {
  readonly #segments: DvSegment[] = [];
  readonly #unreadable = new Map<string, number>();
  /** frames without a readable pack, before the first that has one */
  #waiting: Waiting[] = [];
  #strayBytes = 0;
  #firstStrayAt = -1;
  /** a frame whose mode is not that of the frames before; the next one says what it is */
  #odd: OddFrame | undefined;
  #frames = 0;
  #unplaced = 0;

  stray({ at, bytes }: DifPlace): void {
    if (this.#firstStrayAt < 0) this.#firstStrayAt = at;
    this.#strayBytes += bytes;
  }

  frame(place: DifPlace, system: DvSystem, sources: FrameSources | undefined): void {
    const obstacle = sources && obstacleIn(sources);
    if (obstacle) this.#unreadable.set(obstacle, (this.#unreadable.get(obstacle) ?? 0) + 1);
    const readable = obstacle ? undefined : sources;
    const flags = flagsOf(place, system, readable);
    this.#frames++;
    if (readable) this.#take(place, system, readable, flags);
    else this.#guess(place, system, flags);
  }

  finish(): DvIndex {
    this.#settleOdd(undefined);
    return {
      segments: this.#segments,
      strayBytes: this.#strayBytes,
      firstStrayAt: this.#firstStrayAt,
      frames: this.#frames,
      unplaced: this.#unplaced + this.#waiting.length,
      unreadable: this.#unreadable,
    };
  }

  /** A mode begins a stretch when a second frame has it: one alone is damage. */
  #take(place: DifPlace, system: DvSystem, sources: FrameSources, flags: number): void {
    const { first } = sources;
    const word = first.word === 12 ? 12 : 16;
    const mode: DvMode = { system, rateHz: first.rateHz, word, difChannels: place.difChannels ?? 1 };
    const { at, bytes, isSystemWrong = false } = place;
    const frame: OddFrame = { at, bytes, flags, mode, sources, isSystemWrong };
    this.#settleOdd(mode);
    const segment = this.#segments.at(-1);
    if (!segment || isSameMode(segment.mode, mode)) this.#add(segment ?? this.#begin(mode), frame);
    else this.#odd = frame;
  }

  /** `next`: the mode of the frame behind it; undefined at the end. */
  #settleOdd(next: DvMode | undefined): void {
    const odd = this.#odd;
    const segment = this.#segments.at(-1);
    this.#odd = undefined;
    if (!odd || !segment) return;
    if (next && isSameMode(odd.mode, next)) this.#add(this.#begin(odd.mode), odd);
    else if (segment.mode.system === odd.mode.system) addGuess(segment, { ...odd, flags: odd.flags | ODD_MODE });
    else this.#unplaced++;
  }

  #add(
    segment: DvSegment,
    { at, bytes, flags, mode: { system }, sources: { first, second }, isSystemWrong }: OddFrame,
  ) {
    for (const before of this.#waiting) {
      if (before.system === system) addGuess(segment, before);
      else this.#unplaced++;
    }
    this.#waiting = [];
    const samples = samplesOf(first, system) ?? 0;
    const delta = second && isCounted(first, second) ? second.extra - first.extra : 0;
    segment.table.add({ at, bytes, samples, flags, delta });
    if (second && second.mode !== NOTHING_RECORDED) segment.hasSecondPair = true;
    if (isSystemWrong) segment.wrongSystem++;
  }

  /** Frames without a pack belong to the mode around them, if their system is the same. */
  #guess(place: DifPlace, system: DvSystem, flags: number): void {
    this.#settleOdd(undefined);
    const segment = this.#segments.at(-1);
    const { at, bytes } = place;
    if (segment?.mode.system === system) addGuess(segment, { at, bytes, flags });
    else if (this.#waiting.length < MOST_WAITING) this.#waiting.push({ at, bytes, system, flags });
    else this.#unplaced++;
  }

  #begin(mode: DvMode): DvSegment {
    const before = this.#segments.at(-1);
    const firstFrame = before ? before.firstFrame + before.table.length : 0;
    const segment = { mode, table: new FrameTable(), firstFrame, hasSecondPair: false, wrongSystem: 0 };
    this.#segments.push(segment);
    return segment;
  }
}

/** Whether the second half was recorded in the same mode, so that its own count holds. */
function isCounted(first: AudioSource, second: AudioSource): boolean {
  return second.mode !== NOTHING_RECORDED && second.rateHz === first.rateHz && second.word === first.word;
}

function obstacleIn({ first }: FrameSources): string | undefined {
  if (first.word === 20) return '20-bit words';
  if (first.kind > 2) return 'eight audio blocks a frame (100 Mb/s)';
  return undefined;
}

function flagsOf(place: DifPlace, system: DvSystem, sources: FrameSources | undefined): number {
  const isShort = place.bytes < frameSize({ system, difChannels: place.difChannels ?? 1 });
  return (
    (place.isHeaderDamaged ? HEADER_DAMAGED : 0) |
    (isShort ? SHORT : 0) |
    (sources ? 0 : NO_SOUND) |
    (sources?.doDiffer ? PACKS_DIFFER : 0) |
    (parseHeader(place.head)?.isSoundInvalid ? DECLARED_INVALID : 0)
  );
}

function isSameMode(a: DvMode, b: DvMode): boolean {
  return a.system === b.system && a.rateHz === b.rateHz && a.word === b.word && a.difChannels === b.difChannels;
}

/** As many samples as keep the count on its average. */
function addGuess({ mode, table }: DvSegment, { at, bytes, flags }: Omit<Waiting, 'system'>): void {
  const { num, den } = meanSamples(mode.system, mode.rateHz);
  const samples = Math.floor(((table.length + 1) * num) / den) - Math.floor((table.length * num) / den);
  table.add({ at, bytes, samples, flags });
}

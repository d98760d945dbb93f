// Walks the frames of a bare DIF stream: by the size its system has, and by search where the next frame does not begin there.
// Bytes that belong to no frame are told, never skipped in silence. Not for what the frames hold.
import { type StopSignal, throwIfStopped } from '../../base/index.ts';
import type { ByteFile } from '../byte-file.ts';
import { isFrameStart, parseHeader, START_BYTES } from './dif-identity.ts';
import { DV_SYSTEMS, type DvSystem } from './dif-system.ts';

/** Seven blocks, and the audio blocks A0 to A4 of sequence 0 with their packs. */
export const HEAD_BYTES = 5_680;

/** One frame, or bytes between frames (`system` undefined). */
export interface DifPlace {
  readonly at: number;
  readonly bytes: number;
  readonly system?: DvSystem;
  readonly difChannels?: 1 | 2;
  /** the first bytes; valid until the next place is asked for */
  readonly head: Uint8Array;
  readonly isHeaderDamaged?: boolean;
  /** the header names the other system */
  readonly isSystemWrong?: boolean;
}

interface Shape {
  readonly system: DvSystem;
  readonly difChannels: 1 | 2;
  readonly isSystemWrong: boolean;
}

const SEARCH_BYTES = 1024 * 1024;

export async function* walkRaw(file: ByteFile, from: number, stop?: StopSignal): AsyncGenerator<DifPlace> {
  const heads = new Heads(file);
  let at = from;
  let last: Shape | undefined;
  while (at < file.size) {
    throwIfStopped(stop);
    const head = await heads.at(at);
    const isHere = isFrameStart(head);
    const shape: Shape | undefined = isHere ? await shapeAt(heads, at, head, last) : last;
    const next = shape ? at + frameSize(shape) : undefined;
    if (shape && next !== undefined && (isHere || (await heads.startsOrEnds(next)))) {
      const bytes = await extent(file, heads, at, next);
      const isHeaderDamaged = !isHere || parseHeader(head) === undefined;
      yield { at, bytes, head, ...shape, isHeaderDamaged };
      last = shape;
      at += bytes;
    } else {
      const found = await findStart(file, at + 1, file.size, stop);
      yield { at, bytes: found - at, head };
      at = found;
    }
  }
}

export function frameSize({ system, difChannels }: Pick<Shape, 'system' | 'difChannels'>): number {
  return system.frameBytes * difChannels;
}

/** The first bytes of frames; the last ones seen are kept, because the head of the next frame is looked at twice. */
class Heads {
  readonly file: ByteFile;
  /** More than are looked at from one place to the next; reused, because a tape has hundreds of thousands. */
  readonly #buffers = Array.from({ length: 8 }, () => new Uint8Array(HEAD_BYTES));
  #turn = 0;
  #at = -1;
  #head: Uint8Array = new Uint8Array(0);

  constructor(file: ByteFile) {
    this.file = file;
  }

  async at(at: number): Promise<Uint8Array> {
    if (at !== this.#at) {
      const length = Math.max(0, Math.min(HEAD_BYTES, this.file.size - at));
      this.#head = this.#buffers[this.#turn++ % this.#buffers.length].subarray(0, length);
      this.#at = at;
      await this.file.readInto(this.#head, at);
    }
    return this.#head;
  }

  async startsOrEnds(at: number): Promise<boolean> {
    return at === this.file.size || isFrameStart(await this.at(at));
  }
}

/** By the header, unless the next frame lies where only the other system puts it. */
async function shapeAt(heads: Heads, at: number, head: Uint8Array, last: Shape | undefined): Promise<Shape> {
  const said = parseHeader(head)?.system ?? last?.system;
  const order = said ? [said, ...DV_SYSTEMS.filter((other) => other !== said)] : DV_SYSTEMS;
  for (const system of order) {
    const isSystemWrong = said !== undefined && system !== said;
    const next = at + system.frameBytes;
    if (isFrameStart(await heads.at(next), 0, 1)) return { system, difChannels: 2, isSystemWrong };
    if (await heads.startsOrEnds(next)) return { system, difChannels: 1, isSystemWrong };
    // The second half of a 50 Mb/s frame may be the damaged one.
    const isWide = last?.difChannels === 2 && (await heads.startsOrEnds(at + 2 * system.frameBytes));
    if (isWide) return { system, difChannels: 2, isSystemWrong };
  }
  // Nothing follows at either distance: the last frame of the file, or bytes are missing. What came before decides.
  const system = last?.system ?? order[0];
  return { system, difChannels: last?.difChannels ?? 1, isSystemWrong: false };
}

/** Bytes of the frame: all of them, or up to the frame that begins too early, or up to the end of the file. */
async function extent(file: ByteFile, heads: Heads, at: number, next: number): Promise<number> {
  if (next > file.size) return (await findStart(file, at + START_BYTES, file.size)) - at;
  if (await heads.startsOrEnds(next)) return next - at;
  return Math.min(next, await findStart(file, at + START_BYTES, next + START_BYTES)) - at;
}

/** The first frame start in [from, to), at any byte; `to` when there is none. */
export async function findStart(file: ByteFile, from: number, to: number, stop?: StopSignal): Promise<number> {
  for (let at = from; at < to; at += SEARCH_BYTES) {
    throwIfStopped(stop);
    const bytes = new Uint8Array(Math.max(0, Math.min(SEARCH_BYTES + START_BYTES, to - at, file.size - at)));
    await file.readInto(bytes, at);
    for (let i = 0; i + START_BYTES <= bytes.length; i++) {
      if (bytes[i] >> 5 === 0 && bytes[i + 1] >> 4 === 0 && bytes[i + 2] === 0 && isFrameStart(bytes, i)) return at + i;
    }
  }
  return to;
}

// Looks through a DAT frame dump once before anything is read from it: frames, stretches of one mode, bytes that belong to no frame.
// Reads the file in order; keeps 22 bytes a frame.
import { type StopSignal, throwIfStopped } from '../../base/index.ts';
import type { ByteFile } from '../byte-file.ts';
import { FrameTable } from '../framed/frame-table.ts';
import { DAT_SAMPLES, type DatMainId, type DatRateHz, FRAME_BYTES, isDatFrame, parseMainId } from './dat-frame.ts';

/** the subcode of the frame is damaged; its mode was taken from the frames before */
export const SUBCODE_DAMAGED = 1;

export interface DatSegment {
  readonly rateHz: DatRateHz;
  readonly table: FrameTable;
  readonly firstFrame: number;
}

export interface DatIndex {
  readonly segments: readonly DatSegment[];
  readonly strayBytes: number;
  readonly firstStrayAt: number;
  /** modes that cannot be read, with the number of their frames */
  readonly unreadable: ReadonlyMap<string, number>;
}

const CHUNK_FRAMES = 360;

export async function indexDat(file: ByteFile, stop?: StopSignal): Promise<DatIndex> {
  const builder = new DatIndexBuilder();
  let at = 0;
  let bytes = new Uint8Array(0);
  let bytesAt = 0;
  while (at < file.size) {
    throwIfStopped(stop);
    if (at + 2 * FRAME_BYTES > bytesAt + bytes.length && bytesAt + bytes.length < file.size) {
      bytes = new Uint8Array(Math.min(CHUNK_FRAMES * FRAME_BYTES, file.size - at));
      bytesAt = at;
      await file.readInto(bytes, at);
    }
    const from = at - bytesAt;
    const isLast = from + 2 * FRAME_BYTES > bytes.length;
    const isHere = isDatFrame(bytes, from).isPossible;
    // A frame whose subcode is damaged keeps its place where the next one stands in its own.
    const isKept = from + FRAME_BYTES <= bytes.length && (isLast || isDatFrame(bytes, from + FRAME_BYTES).isPossible);
    if (isHere || (isKept && builder.hasAny)) {
      builder.frame(at, isHere ? parseMainId(bytes, from) : undefined);
      at += FRAME_BYTES;
    } else {
      const next = nextFrame(bytes, from + 1, bytesAt + bytes.length >= file.size);
      builder.stray(at, next - from);
      at = bytesAt + next;
    }
  }
  return builder.finish();
}

/** The next place in the bytes at which a frame surely begins; when there is none, the first at which one could not be seen whole. */
function nextFrame(bytes: Uint8Array, from: number, isEnd: boolean): number {
  for (let at = from; at + FRAME_BYTES <= bytes.length; at++) if (isDatFrame(bytes, at).isSure) return at;
  return isEnd ? bytes.length : Math.max(from, bytes.length - FRAME_BYTES + 1);
}

class DatIndexBuilder {
  readonly #segments: DatSegment[] = [];
  readonly #unreadable = new Map<string, number>();
  #frames = 0;
  #strayBytes = 0;
  #firstStrayAt = -1;
  /** a frame whose rate is not that of the frames before; the next one says what it is */
  #odd: { readonly at: number; readonly rateHz: DatRateHz } | undefined;

  get hasAny(): boolean {
    return this.#segments.length > 0;
  }

  stray(at: number, bytes: number): void {
    if (this.#firstStrayAt < 0) this.#firstStrayAt = at;
    this.#strayBytes += bytes;
  }

  /** A rate begins a stretch when a second frame has it: one alone is damage to its subcode. */
  frame(at: number, mode: DatMainId | undefined): void {
    const obstacle = mode && obstacleIn(mode);
    if (obstacle !== undefined) {
      this.#settleOdd(undefined);
      this.#unreadable.set(obstacle, (this.#unreadable.get(obstacle) ?? 0) + 1);
      this.#frames++;
      return;
    }
    this.#settleOdd(mode?.rateHz);
    const segment = this.#segments.at(-1);
    if (mode && (!segment || this.#isBehindGap(segment))) this.#add(this.#begin(mode.rateHz), at, 0);
    else if (segment && mode && segment.rateHz !== mode.rateHz) this.#odd = { at, rateHz: mode.rateHz };
    else if (segment) this.#add(segment, at, mode ? 0 : SUBCODE_DAMAGED);
    else this.#frames++;
  }

  /** `next`: the rate of the frame behind it; undefined at the end and where it is not known. */
  #settleOdd(next: DatRateHz | undefined): void {
    const odd = this.#odd;
    const segment = this.#segments.at(-1);
    this.#odd = undefined;
    if (!odd || !segment) return;
    if (next === odd.rateHz) this.#add(this.#begin(odd.rateHz), odd.at, 0);
    else this.#add(segment, odd.at, SUBCODE_DAMAGED);
  }

  #add({ table, rateHz }: DatSegment, at: number, flags: number): void {
    this.#frames++;
    table.add({ at, bytes: FRAME_BYTES, samples: DAT_SAMPLES[rateHz], flags });
  }

  finish(): DatIndex {
    this.#settleOdd(undefined);
    return {
      segments: this.#segments,
      strayBytes: this.#strayBytes,
      firstStrayAt: this.#firstStrayAt,
      unreadable: this.#unreadable,
    };
  }

  /** Frames of an unreadable mode lie between: what follows is another stretch. */
  #isBehindGap({ table, firstFrame }: DatSegment): boolean {
    return firstFrame + table.length !== this.#frames;
  }

  #begin(rateHz: DatRateHz): DatSegment {
    const segment = { rateHz, table: new FrameTable(), firstFrame: this.#frames };
    this.#segments.push(segment);
    return segment;
  }
}

/** How sound of 12 bits or of four channels is packed in such dumps no source says. */
function obstacleIn({ word, channels }: DatMainId): string | undefined {
  if (word === 12) return '12-bit sound (long play or four channels)';
  return channels === 4 ? 'four channels' : undefined;
}

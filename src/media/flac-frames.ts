// The frames of a FLAC stream in order, from any frame on. A damaged stretch comes out as a gap of known length with a
// problem that says where; decoding goes on at the next frame that is good and lies ahead.
import type { Problem } from '../base/index.ts';
import type { ByteFeed } from './flac-feed.ts';
import { FlacFrameDecoder } from './flac-frame.ts';
import { type FlacFrameHeader, MOST_HEADER_BYTES, parseFlacHeader } from './flac-header.ts';
import { FlacPatience } from './flac-patience.ts';
import { FlacFault } from './flac-subframe.ts';

/** What all frames of one stream share. */
export interface FlacShape {
  readonly channels: number;
  readonly bits: number;
  readonly rateHz: number;
  readonly isVariable: boolean;
  /** block size of a fixed-block stream: frame number times this is the position */
  readonly nominalBlock: number;
  /** number of the first sample in the file: 0 but for streams cut from longer ones */
  readonly firstSample: number;
  /** largest block and largest frame by STREAMINFO; only hints for buffering */
  readonly maxBlock: number;
}

/** `planes` are undefined for a gap: frames that are missing or damaged. */
export interface FlacPiece {
  readonly start: number;
  readonly frames: number;
  readonly planes: readonly Int32Array[] | undefined;
  readonly problem: Problem | undefined;
  /** byte offset of the frame */
  readonly offset: number;
}

const MOST_FRAME_BYTES = 32 * 1024 * 1024;

export class FlacFrames {
  readonly #feed: ByteFeed;
  readonly #shape: FlacShape;
  readonly #total: number;
  readonly #decoder = new FlacFrameDecoder();
  readonly #patience = new FlacPatience();
  /** position of the next frame */
  #next: number;
  #held: FlacPiece | undefined;
  #isEnded = false;

  /** `total`: frames of the whole stream, beyond which no position is believed. */
  constructor(feed: ByteFeed, shape: FlacShape, start: number, total: number) {
    this.#feed = feed;
    this.#shape = shape;
    this.#next = start;
    this.#total = total;
  }

  /** Planes are valid until the next call. Undefined after the last piece. */
  async next(): Promise<FlacPiece | undefined> {
    const held = this.#held;
    if (held) {
      this.#held = undefined;
      return held;
    }
    if (this.#isEnded) return undefined;
    const from = this.#feed.offset;
    const piece = await this.#frameHere();
    if (typeof piece === 'object' && piece.start === this.#next) return this.#deliver(piece);
    if (typeof piece === 'object') return this.#gap(from, piece, 'frames-missing', 'frames are missing');
    return this.#recover(from, piece);
  }

  #deliver(piece: FlacPiece): FlacPiece {
    this.#next = piece.start + piece.frames;
    return piece;
  }

  /** The frame at the feed's position, or why there is none. Moves on only past a good frame that lies ahead. */
  async #frameHere(): Promise<FlacPiece | string> {
    const feed = this.#feed;
    if (!feed.has(MOST_HEADER_BYTES)) await feed.fill(MOST_HEADER_BYTES);
    if (feed.at === feed.end) return 'the end';
    const header = parseFlacHeader(feed.bytes, feed.at, feed.end);
    const start = header && positionOf(header, this.#shape);
    if (!header || start === undefined) return 'no frame header that fits the stream';
    if (start < this.#next || start + header.blockSize > this.#total) return 'a frame from another place';
    let wanted = (header.blockSize * header.channels * (this.#shape.bits + 1)) / 8 + 64;
    for (;;) {
      if (!feed.has(wanted)) await feed.fill(wanted);
      try {
        const length = this.#decoder.decode(feed.bytes, feed.at, feed.end, header, this.#shape.bits);
        const offset = feed.offset;
        feed.at += length;
        const planes = this.#decoder.planes;
        return { start, frames: header.blockSize, planes, problem: undefined, offset };
      } catch (fault) {
        if (!(fault instanceof FlacFault)) throw fault;
        if (!fault.isShort || feed.isLast || wanted > MOST_FRAME_BYTES) return fault.message;
        wanted = (feed.end - feed.at) * 2;
      }
    }
  }

  /** Searches for the next good frame; a gap up to it, or to the end of the stream. */
  async #recover(from: number, reason: string): Promise<FlacPiece | undefined> {
    const feed = this.#feed;
    const patience = this.#patience;
    while (!(feed.isLast && feed.at >= feed.end)) {
      feed.at = Math.min(feed.at + patience.step(feed.offset, this.#decoder.cost), feed.end);
      this.#decoder.cost = 0;
      if (!feed.has(MOST_HEADER_BYTES)) await feed.fill(MOST_HEADER_BYTES);
      const sync = feed.bytes.subarray(0, feed.end).indexOf(0xff, feed.at);
      feed.at = sync < 0 ? feed.end : sync;
      const piece = await this.#frameHere();
      if (typeof piece === 'object') {
        const bytes = piece.offset - from;
        if (piece.start > this.#next)
          return this.#gap(from, piece, 'frame-damaged', `${bytes} bytes are damaged (${reason})`);
        this.#held = this.#deliver(piece);
        return { ...this.#held, frames: 0, planes: undefined, problem: strayBytes(from, bytes) };
      }
    }
    return this.#atEnd(from, reason);
  }

  #gap(from: number, piece: FlacPiece, id: string, what: string): FlacPiece {
    const start = this.#next;
    const frames = piece.start - start;
    this.#held = this.#deliver(piece);
    return { start, frames, planes: undefined, offset: from, problem: damage(id, what, from, start, frames) };
  }

  #atEnd(from: number, reason: string): FlacPiece | undefined {
    this.#isEnded = true;
    const start = this.#next;
    const frames = Math.max(0, this.#total - start);
    this.#next = this.#total;
    const bytes = this.#feed.offset - from;
    const piece = { start, frames, planes: undefined, offset: from };
    if (frames > 0) {
      const what = bytes ? `${bytes} bytes at the end are damaged (${reason})` : 'the file ends too early';
      return { ...piece, problem: damage(bytes ? 'frame-damaged' : 'data-truncated', what, from, start, frames) };
    }
    return bytes > 0 ? { ...piece, problem: strayBytes(from, bytes) } : undefined;
  }
}

/** The position a header claims, or undefined when its shape is not that of the stream. */
export function positionOf(header: FlacFrameHeader, shape: FlacShape): number | undefined {
  const isFitting =
    header.channels === shape.channels &&
    header.isVariable === shape.isVariable &&
    (header.bits === 0 || header.bits === shape.bits) &&
    (header.rateHz === 0 || header.rateHz === shape.rateHz);
  if (!isFitting) return undefined;
  return (header.isVariable ? header.number : header.number * shape.nominalBlock) - shape.firstSample;
}

function damage(id: string, what: string, offset: number, start: number, frames: number): Problem {
  const message = `${what}: frames ${start} to ${start + frames - 1} were replaced by zeros`;
  return { id, severity: 'damage', message, offset, expected: `${frames} frames`, found: '0' };
}

function strayBytes(offset: number, bytes: number): Problem {
  const message = `${bytes} bytes belong to no frame and were not read; no audio is missing there`;
  return { id: 'stray-bytes', severity: 'note', message, offset, found: `${bytes} bytes` };
}

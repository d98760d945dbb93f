// Reads FLAC files: random access through a sparse index, streaming, and one pass with both digests and the MD5 check.
import { createHash, type Hash } from 'node:crypto';
import { type Block, emptyBlock, type Problem, rate, type StopSignal, throwIfStopped } from '../base/index.ts';
import type { AudioFile, Digests, MediaInfo, Pass, PassOptions } from './audio-file.ts';
import { blockSize } from './block-size.ts';
import type { ByteFile } from './byte-file.ts';
import { ByteFeed } from './flac-feed.ts';
import { FlacFrames, type FlacPiece } from './flac-frames.ts';
import { FlacIndex } from './flac-index.ts';
import { type FlacLayout, findFlacLayout } from './flac-shape.ts';
import type { PcmBits } from './pcm-planes.ts';
import { interleaveQuickly } from './pcm-words.ts';

const CHUNK_BYTES = 1024 * 1024;
/** Random reads fetch little at a time. */
const SEEK_CHUNK_BYTES = 64 * 1024;

/** `flacAt`: offset of "fLaC". */
export async function openFlac(file: ByteFile, flacAt: number): Promise<AudioFile> {
  return new FlacFile(file, await findFlacLayout(file, flacAt));
}

/** Where the last random read stopped, so that the next one near it goes on from there. */
interface Cursor {
  readonly feed: ByteFeed;
  readonly frames: FlacFrames;
  piece: FlacPiece | undefined;
}

class FlacFile implements AudioFile {
  readonly #file: ByteFile;
  readonly #layout: FlacLayout;
  readonly #index: FlacIndex;
  #info: MediaInfo;
  #cursor: Cursor | undefined;
  /** random reads take turns at the cursor */
  #turn: Promise<unknown> = Promise.resolve();

  constructor(file: ByteFile, layout: FlacLayout) {
    this.#file = file;
    this.#layout = layout;
    this.#index = new FlacIndex(file, layout.shape, layout.audioAt, layout.frames);
    this.#info = infoOf(file, layout);
  }

  /** Damage inside the stream is known only after a full pass, which then shows here too. */
  get info(): MediaInfo {
    return this.#info;
  }

  read(start: number, frames: number): Promise<Block> {
    const turn = this.#turn.then(() => this.#read(start, frames));
    this.#turn = turn.catch(() => {});
    return turn;
  }

  async *blocks(
    options: { blockFrames?: number; start?: number; stop?: StopSignal | undefined } = {},
  ): AsyncGenerator<Block> {
    const start = Math.min(Math.max(0, options.start ?? 0), this.#info.frames);
    const { frame, offset } = await this.#index.before(start);
    const feed = new ByteFeed(this.#file.stream(offset, this.#file.size, CHUNK_BYTES, options.stop), offset);
    const frames = new FlacFrames(feed, this.#layout.shape, frame, this.#info.frames);
    try {
      yield* this.#reblock(frames, start, options);
    } finally {
      await feed.close();
    }
  }

  pass(options: PassOptions = {}): Pass {
    const run = new PassRun(this.#file, this.#layout, options);
    return {
      blocks: this.#passBlocks(run, options),
      digests: () => run.digests(),
      problems: () => [...this.#info.problems],
    };
  }

  async close(): Promise<void> {
    await this.#cursor?.feed.close();
    this.#cursor = undefined;
    await this.#file.close();
  }

  async *#passBlocks(run: PassRun, options: PassOptions): AsyncGenerator<Block> {
    const feed = await run.begin();
    const frames = new FlacFrames(feed, this.#layout.shape, 0, this.#info.frames);
    const problems: Problem[] = [];
    try {
      for await (const block of this.#reblock(frames, 0, options, problems)) {
        run.takeAudio(block);
        yield block;
      }
      await feed.drain();
      const all = [...problems, ...run.finish()];
      this.#info = withProblems(this.#info, all);
    } finally {
      await feed.close();
    }
  }

  /** Pieces of any size into blocks of one size; the planes are reused. */
  async *#reblock(
    frames: FlacFrames,
    start: number,
    { blockFrames: asked, stop, place }: PassOptions,
    problems?: Problem[],
  ): AsyncGenerator<Block> {
    const { channels, frames: total } = this.#info;
    const size = blockSize(asked, channels, total);
    let planes = place ? await place.planes(channels, size) : emptyBlock(0, channels, size).planes;
    let at = start;
    let held = 0;
    for (let piece = await frames.next(); piece; piece = await frames.next()) {
      if (piece.problem) problems?.push(piece.problem);
      for (let done = Math.max(0, at + held - piece.start); done < piece.frames; ) {
        throwIfStopped(stop);
        const count = Math.min(size - held, piece.frames - done);
        copyPiece(piece, done, count, planes, held);
        done += count;
        held += count;
        if (held < size) continue;
        yield { start: at, frames: size, planes: cut(planes, size) };
        at += size;
        held = 0;
        if (place && at < total) planes = await place.planes(channels, size);
      }
    }
    if (held > 0) yield { start: at, frames: held, planes: cut(planes, held) };
  }

  async #read(start: number, wanted: number): Promise<Block> {
    const { channels, frames: total } = this.#info;
    const from = Math.min(Math.max(0, start), total);
    const block = emptyBlock(from, channels, Math.max(0, Math.min(start + wanted, total) - from));
    if (block.frames === 0) return block;
    const cursor = await this.#cursorAt(from);
    for (let done = 0; done < block.frames; ) {
      const piece = cursor.piece;
      if (piece && from + done < piece.start + piece.frames) {
        const inside = from + done - piece.start;
        const count = Math.min(block.frames - done, piece.frames - inside);
        copyPiece(piece, inside, count, block.planes, done);
        done += count;
      } else {
        cursor.piece = await cursor.frames.next();
        if (!cursor.piece) break;
      }
    }
    return block;
  }

  /** Goes on from the cursor unless it is past `frame`, or the index knows a nearer place to start. */
  async #cursorAt(frame: number): Promise<Cursor> {
    const entry = await this.#index.before(frame);
    const held = this.#cursor?.piece;
    if (this.#cursor && held && held.start <= frame && held.start + held.frames >= entry.frame) return this.#cursor;
    await this.#cursor?.feed.close();
    const feed = new ByteFeed(this.#file.stream(entry.offset, this.#file.size, SEEK_CHUNK_BYTES), entry.offset);
    const frames = new FlacFrames(feed, this.#layout.shape, entry.frame, this.#info.frames);
    this.#cursor = { feed, frames, piece: undefined };
    return this.#cursor;
  }
}

/** The bytes and digests of one pass. */
class PassRun {
  readonly #file: ByteFile;
  readonly #layout: FlacLayout;
  readonly #options: PassOptions;
  readonly #whole: Hash = createHash('sha256');
  readonly #audio: Hash = createHash('sha256');
  readonly #md5: Hash = createHash('md5');
  readonly #width: PcmBits;
  #buffer = new Uint8Array(0);
  #done = 0;
  #digests: Digests | undefined;

  constructor(file: ByteFile, layout: FlacLayout, options: PassOptions) {
    this.#file = file;
    this.#layout = layout;
    this.#options = options;
    this.#width = (Math.ceil(layout.shape.bits / 8) * 8) as PcmBits;
  }

  /** Digests what lies before the audio; the feed digests the rest. */
  async begin(): Promise<ByteFeed> {
    const { audioAt } = this.#layout;
    const { stop } = this.#options;
    for await (const { bytes } of this.#file.stream(0, audioAt, CHUNK_BYTES, stop)) this.#saw(bytes);
    const chunks = this.#file.stream(audioAt, this.#file.size, CHUNK_BYTES, stop);
    return new ByteFeed(chunks, audioAt, (bytes) => this.#saw(bytes));
  }

  takeAudio(block: Block): void {
    const length = (block.frames * block.planes.length * this.#width) / 8;
    if (this.#buffer.length < length) this.#buffer = new Uint8Array(length);
    const bytes = this.#buffer.subarray(0, length);
    interleaveQuickly(block.planes, 0, block.frames, this.#width, bytes, 0);
    this.#audio.update(bytes);
    this.#options.watch?.audio(bytes);
    if (!this.#layout.md5) return;
    // The MD5 of STREAMINFO is over signed samples (RFC 9639 section 8.2), 8 bits included.
    if (this.#width === 8) for (let i = 0; i < length; i++) bytes[i] ^= 0x80;
    this.#md5.update(bytes);
  }

  /** Problems of the stream as a whole. */
  finish(): Problem[] {
    this.#digests = { file: { sha256: this.#whole.digest('hex') }, audio: { sha256: this.#audio.digest('hex') } };
    const expected = this.#layout.md5;
    const found = this.#md5.digest('hex');
    if (!expected || found === expected) return [];
    const message = 'the decoded audio is not what the encoder was given: the MD5 in the header differs';
    return [{ id: 'md5-mismatch', severity: 'damage', message, expected, found }];
  }

  digests(): Digests {
    if (!this.#digests) throw new Error('digests are known only after the last block');
    return this.#digests;
  }

  #saw(bytes: Uint8Array): void {
    this.#whole.update(bytes);
    this.#options.watch?.file(bytes);
    this.#done += bytes.length;
    this.#options.onBytes?.(this.#done, this.#file.size);
  }
}

function cut(planes: readonly Int32Array[], frames: number): readonly Int32Array[] {
  return planes[0].length === frames ? planes : planes.map((plane) => plane.subarray(0, frames));
}

function copyPiece(piece: FlacPiece, from: number, count: number, planes: readonly Int32Array[], to: number): void {
  for (const [c, plane] of planes.entries()) {
    if (piece.planes) plane.set(piece.planes[c].subarray(from, from + count), to);
    else plane.fill(0, to, to + count);
  }
}

function infoOf(file: ByteFile, { shape, frames, problems }: FlacLayout): MediaInfo {
  return {
    name: file.name,
    channels: shape.channels,
    frames,
    rate: rate(shape.rateHz),
    bits: shape.bits,
    container: 'flac',
    containerBits: shape.bits,
    headerBits: shape.bits,
    readAs: problems.some(({ severity }) => severity === 'damage') ? 'partial' : 'whole',
    problems,
    fileBytes: file.size,
  };
}

/** New problems join the known ones once, however often the file is passed. */
function withProblems(info: MediaInfo, found: readonly Problem[]): MediaInfo {
  const key = ({ id, offset, message }: Problem) => `${id} ${offset} ${message}`;
  const known = new Set(info.problems.map(key));
  const problems = [...info.problems, ...found.filter((problem) => !known.has(key(problem)))];
  const isPartial = problems.some(({ severity }) => severity === 'damage');
  return { ...info, problems, readAs: isPartial ? 'partial' : 'whole' };
}

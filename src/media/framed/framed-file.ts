// Reads a file of tape frames as any other capture: random access, streaming, and one pass that delivers blocks, both digests and what
// the carrier says of itself. Where frames lie and how their samples are read is decided elsewhere (dv/, dat/).
import { type Block, emptyBlock, type Problem, type Rate, type StopSignal } from '../../base/index.ts';
import type { AudioFile, Digests, MediaInfo, Pass, PassOptions } from '../audio-file.ts';
import { blockSize } from '../block-size.ts';
import type { ByteFile } from '../byte-file.ts';
import type { CarrierReport } from '../carrier.ts';
import { sharedBytes } from '../hashes.ts';
import { Packer, PassHashes } from '../pass-hashes.ts';
import { frameBatches, isInFileOrder } from './frame-batches.ts';
import type { FrameTable } from './frame-table.ts';

export interface FrameBytes {
  readonly bytes: Uint8Array;
  readonly at: number;
  /** first byte that is no longer part of the frame */
  readonly end: number;
}

/** Decodes one frame at a time; keeps what it counted of the last one. */
export interface FrameSound {
  /** Writes the samples of frame f to the beginning of the planes. */
  decode(f: number, frame: FrameBytes, planes: readonly Int32Array[]): void;
}

/** Sees every frame of a pass behind its decoding. */
export interface FrameWatch {
  frame(f: number, frame: FrameBytes, planes: readonly Int32Array[]): void;
  problems(): readonly Problem[];
  report(): CarrierReport;
}

export interface FramedLayout {
  readonly container: MediaInfo['container'];
  readonly table: FrameTable;
  readonly rate: Rate;
  readonly channels: number;
  /** at least as many as channels, each long enough for any frame */
  makePlanes(): Int32Array[];
  readonly lostValue?: number;
  readonly problems: readonly Problem[];
  readonly isPartial: boolean;
  beginSound(): FrameSound;
  /** both fresh for every pass */
  beginPass(): { readonly sound: FrameSound; readonly watch: FrameWatch };
}

interface Watch {
  readonly hashes?: PassHashes;
  readonly sound: FrameSound;
  readonly watch?: FrameWatch;
}

export class FramedFile implements AudioFile {
  readonly info: MediaInfo;
  readonly #file: ByteFile;
  readonly #layout: FramedLayout;
  readonly #sound: FrameSound;

  constructor(file: ByteFile, layout: FramedLayout) {
    this.info = infoOf(file, layout);
    this.#file = file;
    this.#layout = layout;
    this.#sound = layout.beginSound();
  }

  async read(start: number, frames: number): Promise<Block> {
    const { table } = this.#layout;
    const from = Math.min(Math.max(0, start), table.samples);
    const to = Math.max(from, Math.min(start + frames, table.samples));
    const block = emptyBlock(from, this.info.channels, to - from);
    const planes = this.#layout.makePlanes();
    let buffer = new Uint8Array(0);
    for (let f = table.frameOf(from); f < table.length && table.start(f) < to; f++) {
      const length = table.end(f) - table.at(f);
      if (buffer.length < length) buffer = new Uint8Array(length);
      const bytes = buffer.subarray(0, length);
      await this.#file.readInto(bytes, table.at(f));
      this.#sound.decode(f, { bytes, at: 0, end: bytes.length }, planes);
      const first = Math.max(from, table.start(f));
      const last = Math.min(to, table.start(f + 1));
      for (const [c, plane] of block.planes.entries())
        plane.set(planes[c].subarray(first - table.start(f), last - table.start(f)), first - from);
    }
    return block;
  }

  blocks(options: { blockFrames?: number; start?: number; stop?: StopSignal | undefined } = {}): AsyncIterable<Block> {
    return this.#blocks(options.blockFrames, Math.max(0, options.start ?? 0), options.stop, {
      sound: this.#layout.beginSound(),
    });
  }

  pass(options: PassOptions = {}): Pass {
    const { sound, watch } = this.#layout.beginPass();
    let digests: Digests | undefined;
    const finish = (result: Digests) => {
      digests = result;
    };
    return {
      blocks: this.#passBlocks(options, { sound, watch }, finish),
      digests() {
        if (!digests) throw new Error('digests are known only after the last block');
        return digests;
      },
      problems: () => [...this.info.problems, ...(digests ? watch.problems() : [])],
      carrier: (): CarrierReport | undefined => (digests ? watch.report() : undefined),
    };
  }

  close(): Promise<void> {
    return this.#file.close();
  }

  async *#passBlocks(options: PassOptions, both: Watch, finish: (digests: Digests) => void) {
    const packer = new Packer(this.info.bits, sharedBytes);
    const { table } = this.#layout;
    const { size } = this.#file;
    const isInOrder = isInFileOrder(table);
    const hashes = new PassHashes(size, options);
    try {
      // Frames in another order than that of the file: its bytes are read once more, for their digest.
      await hashes.outside(this.#file, 0, isInOrder ? table.at(0) : size, options.stop);
      const watch = { ...both, ...(isInOrder ? { hashes } : {}) };
      for await (const block of this.#blocks(options.blockFrames, 0, options.stop, watch)) {
        hashes.audio(packer.pack(block));
        yield block;
        await hashes.settle();
      }
      if (isInOrder) await hashes.outside(this.#file, table.end(table.length - 1), size, options.stop);
      finish(await hashes.digests());
    } finally {
      await hashes.close();
    }
  }

  async *#blocks(asked: number | undefined, start: number, stop: StopSignal | undefined, watch: Watch) {
    const { table } = this.#layout;
    const { channels } = this.info;
    const planes = this.#layout.makePlanes();
    const out = new BlockFiller(channels, blockSize(asked, channels, table.samples), start);
    let hashedTo = table.at(0);
    const first = table.frameOf(start);
    for await (const batch of frameBatches(this.#file, table, first, stop, watch.hashes && sharedBytes)) {
      if (watch.hashes) {
        await watch.hashes.outside(this.#file, hashedTo, batch.at, stop);
        watch.hashes.saw(batch.bytes);
        hashedTo = batch.at + batch.bytes.length;
      }
      for (let f = batch.from; f < batch.to; f++) {
        const samples = table.samplesOf(f);
        const frame = { bytes: batch.bytes, at: table.at(f) - batch.at, end: table.end(f) - batch.at };
        watch.sound.decode(f, frame, planes);
        watch.watch?.frame(f, frame, planes);
        const skip = Math.max(0, start - table.start(f));
        for (let done = skip; done < samples; ) {
          done += out.fill(planes, done, samples);
          if (out.isFull) yield out.take();
        }
      }
      await watch.hashes?.settle();
    }
    if (out.hasAny) yield out.take();
  }
}

/** Frames of many lengths into blocks of one; the planes are reused. */
class BlockFiller {
  readonly #planes: Int32Array[];
  readonly #size: number;
  #start: number;
  #filled = 0;

  constructor(channels: number, size: number, start: number) {
    this.#planes = Array.from({ length: channels }, () => new Int32Array(size));
    this.#size = size;
    this.#start = start;
  }

  get isFull(): boolean {
    return this.#filled === this.#size;
  }

  get hasAny(): boolean {
    return this.#filled > 0;
  }

  /** Takes what fits of the samples [from, to); returns how many. */
  fill(planes: readonly Int32Array[], from: number, to: number): number {
    const count = Math.min(to - from, this.#size - this.#filled);
    for (const [c, plane] of this.#planes.entries()) plane.set(planes[c].subarray(from, from + count), this.#filled);
    this.#filled += count;
    return count;
  }

  take(): Block {
    const frames = this.#filled;
    const block = { start: this.#start, frames, planes: this.#planes.map((plane) => plane.subarray(0, frames)) };
    this.#start += frames;
    this.#filled = 0;
    return block;
  }
}

function infoOf(file: ByteFile, layout: FramedLayout): MediaInfo {
  const { container, table, rate, channels, problems, isPartial, lostValue } = layout;
  return {
    ...{
      name: file.name,
      channels,
      frames: table.samples,
      rate,
      bits: 16,
      container,
      containerBits: 16,
      headerBits: 16,
    },
    ...{ readAs: isPartial ? 'partial' : 'whole', problems, fileBytes: file.size },
    ...(lostValue === undefined ? {} : { lostValue }),
  };
}

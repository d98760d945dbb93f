// Reads the sound of a DV file as any other capture: random access, streaming, and one pass that delivers blocks, both digests and what
// the carrier says of itself. Where frames lie and what mode they have was decided before (frame-index, open-dv).
import { type Block, emptyBlock, type Problem, rate, type StopSignal } from '../../base/index.ts';
import type { AudioFile, Digests, MediaInfo, Pass, PassOptions } from '../audio-file.ts';
import { blockSize } from '../block-size.ts';
import type { ByteFile } from '../byte-file.ts';
import type { CarrierReport } from '../carrier.ts';
import { sharedBytes } from '../hashes.ts';
import { Packer, PassHashes } from '../pass-hashes.ts';
import { channelsOf, type FrameBytes, FrameDecoder, lostValueOf } from './decode-frame.ts';
import type { DvReporter } from './dv-reporter.ts';
import { frameBatches, isInFileOrder } from './frame-batches.ts';
import type { DvSegment } from './frame-index.ts';
import { type FrameTable, NO_SOUND } from './frame-table.ts';

export interface DvLayout {
  readonly container: MediaInfo['container'];
  readonly segment: DvSegment;
  readonly problems: readonly Problem[];
  readonly isPartial: boolean;
  /** a fresh one for every pass */
  beginReport(): DvReporter;
}

interface Watch {
  readonly hashes?: PassHashes;
  readonly reporter?: DvReporter;
}

export class DvFile implements AudioFile {
  readonly info: MediaInfo;
  readonly #file: ByteFile;
  readonly #layout: DvLayout;
  readonly #decoder: FrameDecoder;

  constructor(file: ByteFile, layout: DvLayout) {
    this.info = infoOf(file, layout);
    this.#file = file;
    this.#layout = layout;
    this.#decoder = new FrameDecoder(layout.segment.mode);
  }

  async read(start: number, frames: number): Promise<Block> {
    const { table } = this.#layout.segment;
    const from = Math.min(Math.max(0, start), table.samples);
    const to = Math.max(from, Math.min(start + frames, table.samples));
    const block = emptyBlock(from, this.info.channels, to - from);
    const planes = this.#framePlanes();
    for (let f = table.frameOf(from); f < table.length && table.start(f) < to; f++) {
      const bytes = new Uint8Array(table.end(f) - table.at(f));
      await this.#file.readInto(bytes, table.at(f));
      decodeAny(this.#decoder, table, f, { bytes, at: 0, end: bytes.length }, planes);
      const first = Math.max(from, table.start(f));
      const last = Math.min(to, table.start(f + 1));
      for (const [c, plane] of block.planes.entries())
        plane.set(planes[c].subarray(first - table.start(f), last - table.start(f)), first - from);
    }
    return block;
  }

  blocks(options: { blockFrames?: number; start?: number; stop?: StopSignal | undefined } = {}): AsyncIterable<Block> {
    return this.#blocks(options.blockFrames, Math.max(0, options.start ?? 0), options.stop, {});
  }

  pass(options: PassOptions = {}): Pass {
    const reporter = this.#layout.beginReport();
    let digests: Digests | undefined;
    const finish = (result: Digests) => {
      digests = result;
    };
    return {
      blocks: this.#passBlocks(options, reporter, finish),
      digests() {
        if (!digests) throw new Error('digests are known only after the last block');
        return digests;
      },
      problems: () => [...this.info.problems, ...(digests ? reporter.problems() : [])],
      carrier: (): CarrierReport | undefined => (digests ? reporter.report() : undefined),
    };
  }

  close(): Promise<void> {
    return this.#file.close();
  }

  async *#passBlocks(options: PassOptions, reporter: DvReporter, finish: (digests: Digests) => void) {
    const packer = new Packer(this.info.bits, sharedBytes);
    const { table } = this.#layout.segment;
    const { size } = this.#file;
    const isInOrder = isInFileOrder(table);
    const hashes = new PassHashes(size, options);
    try {
      // Frames in another order than that of the file: its bytes are read once more, for their digest.
      await hashes.outside(this.#file, 0, isInOrder ? table.at(0) : size, options.stop);
      const watch = { reporter, ...(isInOrder ? { hashes } : {}) };
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
    const { table } = this.#layout.segment;
    const { channels } = this.info;
    const decoder = new FrameDecoder(this.#layout.segment.mode);
    const planes = this.#framePlanes();
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
        decodeAny(decoder, table, f, frame, planes);
        watch.reporter?.frame(f, frame, planes, decoder.tallies);
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

  #framePlanes(): Int32Array[] {
    const { mode } = this.#layout.segment;
    const most = mode.system.most[mode.rateHz];
    return Array.from({ length: channelsOf(mode) }, () => new Int32Array(most));
  }
}

function decodeAny(
  decoder: FrameDecoder,
  table: FrameTable,
  f: number,
  frame: FrameBytes,
  planes: readonly Int32Array[],
): void {
  if (table.flags(f) & NO_SOUND) decoder.lose(table.samplesOf(f), planes);
  else decoder.decode(frame, table.samplesOf(f), planes);
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

function infoOf(file: ByteFile, { container, segment, problems, isPartial }: DvLayout): MediaInfo {
  const { mode, table } = segment;
  const isFirstPairOnly = mode.word === 12 && !segment.hasSecondPair;
  return {
    name: file.name,
    channels: isFirstPairOnly ? channelsOf(mode) / 2 : channelsOf(mode),
    frames: table.samples,
    rate: rate(mode.rateHz),
    bits: 16,
    container,
    containerBits: 16,
    headerBits: 16,
    readAs: isPartial ? 'partial' : 'whole',
    problems,
    fileBytes: file.size,
    lostValue: lostValueOf(mode.word),
  };
}

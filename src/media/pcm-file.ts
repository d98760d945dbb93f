// Reads uncompressed audio of any container: random access, streaming, and one pass that delivers blocks and both digests.
// Where the audio lies and how it is stored is decided before (pcm-layout and the parser of the container).
import { type Block, emptyBlock, type Problem, type StopSignal } from '../base/index.ts';
import type { AudioFile, Digests, MediaInfo, Pass, PassOptions } from './audio-file.ts';
import { blockSize } from './block-size.ts';
import { type ByteFile, STREAM_BUFFERS } from './byte-file.ts';
import { hashesHere, sharedBytes, startHashes } from './hashes.ts';
import { paddingInUse } from './justification.ts';
import { CHUNK_BYTES, digestsOf, Packer, PassHashes } from './pass-hashes.ts';
import { ownPlace } from './pass-place.ts';
import { isNative, takeOf } from './pcm-encoding.ts';
import type { PcmLayout } from './pcm-layout.ts';
import { deinterleave, type Take } from './pcm-planes.ts';
import { deinterleaveWords } from './pcm-words.ts';
import { ReadAhead } from './read-ahead.ts';

/** Reads from here on are not worth keeping for the next one. */
const MANY_FRAMES = 16_384;

interface Watch {
  onStored(bytes: Uint8Array): void;
  onBlock(block: Block): void;
  /** after the last block of the bytes stored */
  onChunkDone(): Promise<void>;
}

export class PcmFile implements AudioFile {
  readonly info: MediaInfo;
  readonly #file: ByteFile;
  readonly #layout: PcmLayout;
  readonly #take: Take;
  readonly #ahead: ReadAhead;

  constructor(file: ByteFile, layout: PcmLayout) {
    this.info = layout.info;
    this.#file = file;
    this.#layout = layout;
    this.#take = takeOf(layout.encoding);
    const { dataAt, dataBytes, frameBytes } = layout;
    this.#ahead = new ReadAhead(file, dataAt + dataBytes, Math.max(CHUNK_BYTES, frameBytes));
  }

  async read(start: number, frames: number): Promise<Block> {
    const { channels, frames: total } = this.info;
    const from = Math.min(Math.max(0, start), total);
    const count = Math.max(0, Math.min(start + frames, total) - from);
    const block = emptyBlock(from, channels, count);
    await this.readInto(from, count, block.planes, 0);
    return block;
  }

  async readInto(start: number, frames: number, planes: readonly Int32Array[], to: number): Promise<number> {
    const from = Math.max(0, start);
    const count = Math.max(0, Math.min(start + frames, this.info.frames) - from);
    const { frameBytes, dataAt } = this.#layout;
    const step = Math.max(1, Math.floor(CHUNK_BYTES / frameBytes));
    for (let done = 0; done < count; done += step) {
      const now = Math.min(step, count - done);
      const at = dataAt + (from + done) * frameBytes;
      if (now < MANY_FRAMES) this.#unpack(await this.#file.view(at, now * frameBytes), 0, now, planes, to + done);
      else {
        const bytes = await this.#ahead.take(at, now * frameBytes);
        this.#unpack(bytes, 0, now, planes, to + done);
        this.#ahead.giveBack(bytes);
      }
    }
    return count;
  }

  blocks(options: { blockFrames?: number; start?: number; stop?: StopSignal | undefined } = {}): AsyncIterable<Block> {
    return this.#blocks(options, Math.max(0, options.start ?? 0));
  }

  pass(options: PassOptions = {}): Pass {
    let digests: Digests | undefined;
    const problems = [...this.info.problems];
    const finish = (result: Digests, found: readonly Problem[]) => {
      digests = result;
      problems.push(...found);
    };
    return {
      blocks: this.#passBlocks(options, finish),
      digests() {
        if (!digests) throw new Error('digests are known only after the last block');
        return digests;
      },
      problems: () => problems,
    };
  }

  close(): Promise<void> {
    return this.#file.close();
  }

  #unpack(bytes: Uint8Array, from: number, frames: number, planes: readonly Int32Array[], to: number): void {
    const { frameBytes, encoding } = this.#layout;
    const done = deinterleaveWords(bytes, from, frames, this.#take, planes, to);
    const rest = from + done * frameBytes;
    if (done < frames) deinterleave(bytes, rest, frames - done, this.#take, encoding.bits / 8, planes, to + done);
  }

  async *#passBlocks(options: PassOptions, finish: (digests: Digests, problems: Problem[]) => void) {
    const hashes = new PassHashes(this.#file.size, options);
    const { dataAt, dataBytes, encoding, paddingBits } = this.#layout;
    const isStoredAsDigested = isNative(encoding);
    const packer = new Packer(this.info.bits);
    const padding = new Padding(paddingBits);
    try {
      await hashes.outside(this.#file, 0, dataAt, options.stop);
      yield* this.#blocks(options, 0, {
        onStored: (bytes) => hashes.saw(bytes, isStoredAsDigested),
        onBlock(block) {
          if (paddingBits > 0) padding.look(block);
          if (!isStoredAsDigested) hashes.audio(packer.pack(block));
        },
        onChunkDone: () => hashes.settle(STREAM_BUFFERS - 2),
      });
      await hashes.outside(this.#file, dataAt + dataBytes, this.#file.size, options.stop);
      const { headerBits: validBits } = this.info;
      finish(await hashes.digests(), padding.isInUse ? [paddingInUse({ validBits, encoding, dataAt })] : []);
    } finally {
      await hashes.close();
    }
  }

  async *#blocks({ blockFrames: asked, stop, place: given }: PassOptions, start: number, watch?: Watch) {
    const { channels, frames: total } = this.info;
    const { dataAt, dataBytes, frameBytes, encoding } = this.#layout;
    if (total === 0) return;
    const blockFrames = blockSize(asked, channels, total);
    const chunkBytes = frameBytes * blockFrames * Math.max(1, Math.floor(CHUNK_BYTES / (blockFrames * frameBytes)));
    const place = given ?? ownPlace(channels, blockFrames, encoding.bits, chunkBytes);
    const from = Math.min(dataAt + start * frameBytes, dataAt + dataBytes);
    for await (const { at, bytes } of this.#file.stream(from, dataAt + dataBytes, chunkBytes, stop, place.bytes)) {
      watch?.onStored(bytes);
      const frames = bytes.length / frameBytes;
      for (let done = 0; done < frames; done += blockFrames) {
        const count = Math.min(blockFrames, frames - done);
        const planes = await place.planes(channels, blockFrames);
        this.#unpack(bytes, done * frameBytes, count, planes, 0);
        const views = count === planes[0].length ? planes : planes.map((plane) => plane.subarray(0, count));
        const block: Block = { start: (at - dataAt) / frameBytes + done, frames: count, planes: views };
        watch?.onBlock(block);
        yield block;
      }
      await watch?.onChunkDone();
    }
  }
}

/** Both digests of natively stored audio without looking at the samples: what a pass would give, in less time. */
export async function digestPcm(file: ByteFile, layout: PcmLayout): Promise<Digests> {
  const { dataAt, dataBytes } = layout;
  // One digest here and one on a thread: nothing else is to be done meanwhile.
  const whole = startHashes(1, file.size);
  const audio = hashesHere(1);
  try {
    for await (const { at, bytes } of file.stream(0, file.size, CHUNK_BYTES, undefined, sharedBytes)) {
      whole.update([0], bytes);
      audio.update([0], bytes.subarray(Math.max(0, dataAt - at), Math.max(0, dataAt + dataBytes - at)));
      await whole.settle(STREAM_BUFFERS - 2);
    }
    return digestsOf(await whole.digests(), await audio.digests());
  } finally {
    await whole.close();
  }
}

/** Watches the bits that should be zero. */
class Padding {
  isInUse = false;
  readonly #mask: number;

  constructor(bits: number) {
    this.#mask = 2 ** bits - 1;
  }

  look({ planes, frames }: Block): void {
    let union = 0;
    for (const plane of planes) for (let i = 0; i < frames; i++) union |= plane[i];
    if (union & this.#mask) this.isInUse = true;
  }
}

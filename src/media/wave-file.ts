// Reads WAVE, RF64 and BW64 files: random access, streaming, and one pass that delivers blocks and both digests.
import { createHash } from 'node:crypto';
import { type Block, emptyBlock, type StopSignal } from '../base/index.ts';
import type { AudioFile, Digests, MediaInfo, Pass, PassOptions } from './audio-file.ts';
import { blockSize } from './block-size.ts';
import type { ByteFile } from './byte-file.ts';
import { deinterleave } from './pcm-planes.ts';
import { findWaveLayout, type WaveLayout } from './wave-layout.ts';

/** Disk reads are gathered to at least this size: small blocks then cost no more than large ones. */
const CHUNK_BYTES = 2 * 1024 * 1024;

export async function openWave(file: ByteFile): Promise<AudioFile> {
  return new WaveFile(file, await findWaveLayout(file));
}

interface Watch {
  onAudio?(bytes: Uint8Array): void;
}

class WaveFile implements AudioFile {
  readonly info: MediaInfo;
  readonly #file: ByteFile;
  readonly #layout: WaveLayout;

  constructor(file: ByteFile, layout: WaveLayout) {
    this.info = layout.info;
    this.#file = file;
    this.#layout = layout;
  }

  async read(start: number, frames: number): Promise<Block> {
    const { channels, frames: total } = this.info;
    const from = Math.min(Math.max(0, start), total);
    const count = Math.max(0, Math.min(start + frames, total) - from);
    const block = emptyBlock(from, channels, count);
    const { frameBytes, containerBits } = this.#layout.format;
    const step = Math.max(1, Math.floor(CHUNK_BYTES / frameBytes));
    for (let done = 0; done < count; done += step) {
      const now = Math.min(step, count - done);
      const bytes = await this.#file.view(this.#layout.dataAt + (from + done) * frameBytes, now * frameBytes);
      deinterleave(bytes, 0, now, containerBits, block.planes, done);
    }
    return block;
  }

  blocks(options: { blockFrames?: number; start?: number; stop?: StopSignal | undefined } = {}): AsyncIterable<Block> {
    return this.#blocks(options.blockFrames, Math.max(0, options.start ?? 0), options.stop, {});
  }

  pass(options: PassOptions = {}): Pass {
    let digests: Digests | undefined;
    return {
      blocks: this.#passBlocks(options, (result) => {
        digests = result;
      }),
      digests() {
        if (!digests) throw new Error('digests are known only after the last block');
        return digests;
      },
      problems: () => this.info.problems,
    };
  }

  close(): Promise<void> {
    return this.#file.close();
  }

  async *#passBlocks(options: PassOptions, finish: (digests: Digests) => void): AsyncGenerator<Block> {
    const hashes = new PassHashes(this.#file.size, options.onBytes);
    const { dataAt, dataBytes } = this.#layout;
    await hashes.outside(this.#file, 0, dataAt, options.stop);
    yield* this.#blocks(options.blockFrames, 0, options.stop, { onAudio: (bytes) => hashes.audio(bytes) });
    await hashes.outside(this.#file, dataAt + dataBytes, this.#file.size, options.stop);
    finish(hashes.digests());
  }

  async *#blocks(asked: number | undefined, start: number, stop: StopSignal | undefined, watch: Watch) {
    const { frameBytes, containerBits, channels } = this.#layout.format;
    const { dataAt, dataBytes } = this.#layout;
    const blockFrames = blockSize(asked, channels, this.info.frames);
    const chunkBytes = frameBytes * blockFrames * Math.max(1, Math.floor(CHUNK_BYTES / (blockFrames * frameBytes)));
    const planes = emptyBlock(0, channels, blockFrames).planes;
    const from = Math.min(dataAt + start * frameBytes, dataAt + dataBytes);
    for await (const { at, bytes } of this.#file.stream(from, dataAt + dataBytes, chunkBytes, stop)) {
      watch.onAudio?.(bytes);
      const frames = bytes.length / frameBytes;
      for (let done = 0; done < frames; done += blockFrames) {
        const count = Math.min(blockFrames, frames - done);
        deinterleave(bytes, done * frameBytes, count, containerBits, planes, 0);
        const views = count === blockFrames ? planes : planes.map((plane) => plane.subarray(0, count));
        yield { start: (at - dataAt) / frameBytes + done, frames: count, planes: views } satisfies Block;
      }
    }
  }
}

/** Both digests without looking at the samples: what a pass would give, in less time. */
export async function digestWave(file: ByteFile, layout: WaveLayout): Promise<Digests> {
  const hashes = new PassHashes(file.size, undefined);
  const audioEnd = layout.dataAt + layout.dataBytes;
  await hashes.outside(file, 0, layout.dataAt);
  for await (const { bytes } of file.stream(layout.dataAt, audioEnd, CHUNK_BYTES)) hashes.audio(bytes);
  await hashes.outside(file, audioEnd, file.size);
  return hashes.digests();
}

class PassHashes {
  readonly #whole = createHash('sha256');
  readonly #audio = createHash('sha256');
  readonly #total: number;
  readonly #onBytes: PassOptions['onBytes'];
  #done = 0;

  constructor(total: number, onBytes: PassOptions['onBytes']) {
    this.#total = total;
    this.#onBytes = onBytes;
  }

  audio(bytes: Uint8Array): void {
    this.#audio.update(bytes);
    this.#saw(bytes);
  }

  /** Takes the bytes [from, to), which are no audio. */
  async outside(file: ByteFile, from: number, to: number, stop?: StopSignal): Promise<void> {
    for await (const { bytes } of file.stream(from, to, CHUNK_BYTES, stop)) this.#saw(bytes);
  }

  digests(): Digests {
    return { file: { sha256: this.#whole.digest('hex') }, audio: { sha256: this.#audio.digest('hex') } };
  }

  #saw(bytes: Uint8Array): void {
    this.#whole.update(bytes);
    this.#done += bytes.length;
    this.#onBytes?.(this.#done, this.#total);
  }
}

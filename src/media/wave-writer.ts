// Writes WAVE files that become RF64 by themselves past 4 GiB. The target appears only after everything was flushed, read
// back and compared with what was handed in. A `bext` chunk and chunks behind the audio are written where they are asked for;
// what they mean is not looked at.
import type { FileHandle } from 'node:fs/promises';
import { type Block, type Rate, rateHz, TapeproofError } from '../base/index.ts';
import type { Digests } from './audio-file.ts';
import { buildBext } from './bext.ts';
import { openBytes } from './byte-file.ts';
import { type Hashes, sharedBytes, startHashes } from './hashes.ts';
import { digestPcm } from './pcm-file.ts';
import { firstOutside } from './pcm-planes.ts';
import { interleaveQuickly } from './pcm-words.ts';
import { walkRiff } from './riff-chunks.ts';
import { discard, ioOf, moveIntoPlace, notAsWritten, openNew, temporaryName } from './safe-file.ts';
import {
  buildWaveHeader,
  chunksBytes,
  needsRf64,
  type WaveChunk,
  type WaveShape,
  waveHeaderBytes,
} from './wave-header.ts';
import { findWaveLayout } from './wave-layout.ts';
import { WRITE_BUFFERS, WriteBehind } from './write-behind.ts';

export interface AudioFormat {
  readonly channels: number;
  /** WAVE stores whole hertz: other rates are rounded, and the exact rational must go into the documents beside the file. */
  readonly rate: Rate;
  readonly bits: 16 | 24 | 32;
  /** fewer than `bits` when the samples are left-justified in it, e.g. 20 in 24 */
  readonly validBits?: number;
  /** `auto`: WAVE, or RF64 when it would pass 4 GiB */
  readonly container?: 'auto' | 'rf64';
  /** about how many frames will come: many have their digest taken on a thread of its own */
  readonly frames?: number;
  /** where the file comes from, as a `bext` chunk ahead of the audio */
  readonly bext?: Parameters<typeof buildBext>[0] | undefined;
  /** to stand behind the audio */
  readonly chunks?: readonly WaveChunk[];
}

export interface Written {
  readonly path: string;
  readonly bytes: number;
  readonly frames: number;
  readonly container: 'wave' | 'rf64';
  readonly digests: Digests;
}

export interface AudioWriter {
  /** Blocks in order; `start` is not looked at. Throws `input` for wrong channels or a sample outside the width. */
  write(block: Block): Promise<void>;
  /** Flushes, reads everything back, compares the audio digest with what was handed in, then renames into place. */
  commit(): Promise<Written>;
  /** Removes the temporary file. Safe after a failure and after `commit`. */
  abort(): Promise<void>;
}

const BUFFER_BYTES = 2 * 1024 * 1024;
/** A frame must fit into blockAlign, a 16-bit field. */
const MOST_FRAME_BYTES = 0xffff;

/** Creates the temporary file beside `path`; the target itself stays as it is until `commit`. */
export function createAudio(path: string, format: AudioFormat): Promise<AudioWriter> {
  return WaveWriter.create(path, format);
}

export class WaveWriter implements AudioWriter {
  readonly #path: string;
  readonly #temporary: string;
  readonly #handle: FileHandle;
  readonly #shape: WaveShape;
  readonly #isRf64Forced: boolean;
  readonly #audio: Hashes;
  readonly #behind: WriteBehind;
  readonly #trailer: Uint8Array;
  #dataBytes = 0;
  #frames = 0;
  #state: 'open' | 'done' = 'open';

  private constructor(path: string, temporary: string, handle: FileHandle, shape: WaveShape, format: AudioFormat) {
    this.#path = path;
    this.#temporary = temporary;
    this.#handle = handle;
    this.#shape = shape;
    this.#isRf64Forced = format.container === 'rf64';
    this.#trailer = chunksBytes(format.chunks ?? []);
    const frameBytes = (shape.channels * shape.bits) / 8;
    this.#behind = new WriteBehind(handle, Math.max(1, Math.floor(BUFFER_BYTES / frameBytes)) * frameBytes);
    this.#audio = startHashes(1, (format.frames ?? 0) * frameBytes);
  }

  static async create(path: string, format: AudioFormat): Promise<WaveWriter> {
    const shape = shapeOf(path, format);
    const temporary = temporaryName(path);
    const handle = await openNew(temporary, path);
    const writer = new WaveWriter(path, temporary, handle, shape, format);
    try {
      await writer.#put(buildWaveHeader(shape, 0, false), 0);
      return writer;
    } catch (error) {
      await writer.abort();
      throw error;
    }
  }

  async write(block: Block): Promise<void> {
    this.#requireOpen();
    this.#check(block);
    const { bits, channels } = this.#shape;
    const step = this.#behind.bufferBytes / ((channels * bits) / 8);
    for (let done = 0; done < block.frames; done += step) {
      const frames = Math.min(step, block.frames - done);
      const buffer = await ioOf(this.#path, () => this.#behind.buffer());
      await this.#audio.settle(WRITE_BUFFERS - 1);
      const length = interleaveQuickly(block.planes, done, frames, bits, buffer, 0);
      const bytes = buffer.subarray(0, length);
      this.#audio.update([0], bytes);
      this.#behind.write(bytes, waveHeaderBytes(this.#shape) + this.#dataBytes);
      this.#dataBytes += length;
      this.#frames += frames;
    }
  }

  /**
   * Frames of digital silence as a hole in the file, where the file system knows holes: for tests of files too large to
   * be written in a test. Headers, sizes and the final comparison are those of any other file.
   */
  async extendWithSilence(frames: number): Promise<void> {
    this.#requireOpen();
    const length = frames * ((this.#shape.channels * this.#shape.bits) / 8);
    const zeros = sharedBytes(Math.min(length, BUFFER_BYTES));
    for (let done = 0; done < length; done += zeros.length) {
      this.#audio.update([0], zeros.subarray(0, Math.min(zeros.length, length - done)));
      await this.#audio.settle(WRITE_BUFFERS);
    }
    await ioOf(this.#path, () => this.#behind.settle());
    this.#dataBytes += length;
    this.#frames += frames;
    await ioOf(this.#path, () => this.#handle.truncate(waveHeaderBytes(this.#shape) + this.#dataBytes));
  }

  async commit(): Promise<Written> {
    this.#requireOpen();
    try {
      await ioOf(this.#path, () => this.#behind.settle());
      const trailerBytes = this.#trailer.length;
      const isRf64 = this.#isRf64Forced || needsRf64(this.#shape, this.#dataBytes, trailerBytes);
      const headerBytes = waveHeaderBytes(this.#shape);
      if (this.#dataBytes % 2) await this.#put(new Uint8Array(1), headerBytes + this.#dataBytes);
      await this.#put(this.#trailer, headerBytes + this.#dataBytes + (this.#dataBytes % 2));
      await this.#put(buildWaveHeader(this.#shape, this.#dataBytes, isRf64, trailerBytes), 0);
      await ioOf(this.#path, () => this.#handle.sync());
      const [handedIn] = await this.#audio.digests();
      await this.#audio.close();
      const digests = await this.#readBack(handedIn);
      await ioOf(this.#path, () => this.#handle.close());
      await moveIntoPlace(this.#temporary, this.#path);
      this.#state = 'done';
      const bytes = headerBytes + this.#dataBytes + (this.#dataBytes % 2) + trailerBytes;
      return { path: this.#path, bytes, frames: this.#frames, container: isRf64 ? 'rf64' : 'wave', digests };
    } catch (error) {
      await this.abort();
      throw error;
    }
  }

  async abort(): Promise<void> {
    if (this.#state === 'done') return;
    this.#state = 'done';
    await this.#audio.close();
    await discard(this.#handle, this.#temporary);
  }

  /** Reads the temporary file by the ordinary rules, so that the header is proven too. */
  async #readBack(handedIn: string): Promise<Digests> {
    const file = await openBytes(this.#temporary);
    try {
      const layout = await findWaveLayout(file, await walkRiff(file));
      const digests = await digestPcm(file, layout);
      const { frames, channels, bits, readAs } = layout.info;
      const isSame = frames === this.#frames && channels === this.#shape.channels && bits === this.#shape.bits;
      if (!isSame || readAs !== 'whole' || digests.audio.sha256 !== handedIn) throw notAsWritten(this.#path);
      return digests;
    } finally {
      await file.close();
    }
  }

  #requireOpen(): void {
    if (this.#state !== 'open') throw new Error('the writer has already been committed or aborted');
  }

  #check(block: Block): void {
    const { channels, bits } = this.#shape;
    if (block.planes.length !== channels) {
      const found = `${block.planes.length}`;
      throw new TapeproofError('input', 'wrong number of channels', {
        path: this.#path,
        expected: `${channels}`,
        found,
      });
    }
    for (const [c, plane] of block.planes.entries()) {
      if (plane.length < block.frames) throw new Error(`plane ${c} is shorter than its block`);
      const i = firstOutside(plane, 0, block.frames, bits);
      if (i < 0) continue;
      throw new TapeproofError('input', `frame ${this.#frames + i}, channel ${c + 1}: a sample does not fit`, {
        path: this.#path,
        expected: `${bits} bits`,
        found: `${plane[i]}`,
        next: 'write the file with a larger word length',
      });
    }
  }

  async #put(bytes: Uint8Array, at: number): Promise<void> {
    await ioOf(this.#path, async () => {
      for (let done = 0; done < bytes.length; ) {
        done += (await this.#handle.write(bytes, done, bytes.length - done, at + done)).bytesWritten;
      }
    });
  }
}

function shapeOf(path: string, format: AudioFormat): WaveShape {
  const { channels, bits, validBits = bits } = format;
  const refuse = (message: string, expected: string, found: string) =>
    new TapeproofError('unsupported', message, { path, expected, found });
  const mostChannels = Math.floor(MOST_FRAME_BYTES / (bits / 8));
  if (!Number.isInteger(channels) || channels < 1 || channels > mostChannels)
    throw refuse('number of channels', `1 to ${mostChannels}`, `${channels}`);
  if (!Number.isInteger(validBits) || validBits < 1 || validBits > bits)
    throw refuse('number of valid bits', `1 to ${bits}`, `${validBits}`);
  const hz = Math.round(rateHz(format.rate));
  if (hz < 1 || hz > 0xffffffff) throw refuse('sampling rate', '1 to 4294967295 Hz', `${hz}`);
  return { channels, bits, validBits, rateHz: hz, bext: format.bext && buildBext(format.bext) };
}

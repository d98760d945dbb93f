// Both digests of a pass while its bytes go by, and blocks as the bytes that the audio digest is taken of. Shared by the readers of
// uncompressed sound, whatever holds it. Reads nothing but what lies outside the audio.
import type { Block, StopSignal } from '../base/index.ts';
import type { Digests, PassOptions } from './audio-file.ts';
import type { ByteFile } from './byte-file.ts';
import { type Hashes, startHashes } from './hashes.ts';
import type { PcmBits } from './pcm-planes.ts';
import { interleaveQuickly } from './pcm-words.ts';

/** Disk reads are gathered to at least this size: small blocks then cost no more than large ones. */
export const CHUNK_BYTES = 2 * 1024 * 1024;

const FILE = 0;
const AUDIO = 1;

export class PassHashes {
  readonly #hashes: Hashes;
  readonly #total: number;
  readonly #options: PassOptions;
  #done = 0;

  constructor(total: number, options: PassOptions) {
    this.#hashes = startHashes(2, total);
    this.#total = total;
    this.#options = options;
  }

  audio(bytes: Uint8Array): void {
    this.#hashes.update([AUDIO], bytes);
    this.#options.watch?.audio(bytes);
  }

  /** Takes the bytes [from, to), which are no audio. */
  async outside(file: ByteFile, from: number, to: number, stop?: StopSignal): Promise<void> {
    for await (const { bytes } of file.stream(from, to, CHUNK_BYTES, stop)) {
      this.saw(bytes);
      await this.settle();
    }
  }

  saw(bytes: Uint8Array, isAudio = false): void {
    this.#hashes.update(isAudio ? [FILE, AUDIO] : [FILE], bytes);
    this.#options.watch?.file(bytes);
    if (isAudio) this.#options.watch?.audio(bytes);
    this.#done += bytes.length;
    this.#options.onBytes?.(this.#done, this.#total);
  }

  /** Before bytes are written over that were handed over before the latest `most`. */
  settle(most = 1): Promise<void> {
    return this.#hashes.settle(most);
  }

  async digests(): Promise<Digests> {
    const [file, audio] = await this.#hashes.digests();
    return digestsOf([file], [audio]);
  }

  close(): Promise<void> {
    return this.#hashes.close();
  }
}

/** Blocks as the bytes of a WAVE data chunk, for the audio digest. */
export class Packer {
  readonly #width: PcmBits;
  readonly #makeBuffer: (length: number) => Uint8Array;
  /** taken in turn, so that a thread for digests may read one while the next is filled */
  readonly #buffers: Uint8Array[];
  #turn = 0;

  /** `makeBuffer` with `sharedBytes`: nothing is copied for a thread, and the hashes must settle before each call of `pack`. */
  constructor(bits: number, makeBuffer: (length: number) => Uint8Array = (length) => new Uint8Array(length)) {
    this.#width = (Math.ceil(bits / 8) * 8) as PcmBits;
    this.#makeBuffer = makeBuffer;
    this.#buffers = Array.from({ length: 3 }, () => makeBuffer(0));
  }

  /** Valid until the call after the next. */
  pack({ planes, frames }: Block): Uint8Array {
    const length = (frames * planes.length * this.#width) / 8;
    const slot = this.#turn++ % this.#buffers.length;
    if (this.#buffers[slot].length < length) this.#buffers[slot] = this.#makeBuffer(length);
    interleaveQuickly(planes, 0, frames, this.#width, this.#buffers[slot], 0);
    return this.#buffers[slot].subarray(0, length);
  }
}

export function digestsOf([file]: readonly string[], [audio]: readonly string[]): Digests {
  return { file: { sha256: file }, audio: { sha256: audio } };
}

// Buffers that are written while the next ones are filled, and brought to the disk while others are written: at the end little is left
// to wait for. Knows nothing of what they hold.
import type { FileHandle } from 'node:fs/promises';
import { sharedBytes } from './hashes.ts';

/** One is filled, one is on its way to the disk, one is read by others. */
export const WRITE_BUFFERS = 3;
/** Bytes after which the disk is asked to keep up. */
const SYNC_BYTES = 64 * 1024 * 1024;

/** State with a life: take a buffer, fill it, write it; settle before the file is closed. */
export class WriteBehind {
  readonly #handle: FileHandle;
  readonly #buffers: readonly Uint8Array[];
  readonly #writing: Promise<void>[] = Array.from({ length: WRITE_BUFFERS }, async () => {});
  #syncing: Promise<void> = Promise.resolve();
  #turn = 0;
  #unsynced = 0;

  constructor(handle: FileHandle, bufferBytes: number) {
    this.#handle = handle;
    this.#buffers = this.#writing.map(() => sharedBytes(bufferBytes));
  }

  get bufferBytes(): number {
    return this.#buffers[0].length;
  }

  /** The next buffer, when what it held is written. Throws what writing it threw. */
  async buffer(): Promise<Uint8Array> {
    await this.#writing[this.#turn];
    return this.#buffers[this.#turn];
  }

  /** Of the buffer that was taken last, its beginning; does not wait. */
  write(bytes: Uint8Array, at: number): void {
    const writing = this.#put(bytes, at);
    // Told when the buffer is wanted again, or in the end.
    writing.catch(() => {});
    this.#writing[this.#turn] = writing;
    this.#turn = (this.#turn + 1) % WRITE_BUFFERS;
    this.#unsynced += bytes.length;
    if (this.#unsynced < SYNC_BYTES) return;
    this.#unsynced = 0;
    // A failure here will be one of the last flush as well.
    this.#syncing = this.#syncing.then(() => this.#handle.datasync()).catch(() => {});
  }

  /** Until everything is written; throws what writing threw. */
  async settle(): Promise<void> {
    for (const writing of this.#writing) await writing;
    await this.#syncing;
  }

  async #put(bytes: Uint8Array, at: number): Promise<void> {
    for (let done = 0; done < bytes.length; ) {
      done += (await this.#handle.write(bytes, done, bytes.length - done, at + done)).bytesWritten;
    }
  }
}

// SHA-256 of one or more streams of bytes, for many bytes on a thread of its own: whoever reads or writes them goes on meanwhile.
// Not for deciding what belongs to which digest.
import { createHash } from 'node:crypto';
import { availableParallelism } from 'node:os';
import { CompanionThread } from './companion-thread.ts';
import type { FromHashThread, ToHashThread } from './hash-worker.ts';

/** Bytes below which a thread is not worth its start (some 30 ms). */
const FEWEST_BYTES = 64 * 1024 * 1024;

export interface Hashes {
  /** Adds to the streams named. Bytes in shared memory are not copied: they must stay as they are until `settle` has let them go. */
  update(streams: readonly number[], bytes: Uint8Array): void;
  /** Waits until at most so many of the latest updates are still read from. */
  settle(most: number): Promise<void>;
  /** The digests in hex, one for each stream. Nothing may be added any more. */
  digests(): Promise<readonly string[]>;
  /** Safe to call more than once, and without having asked for the digests. */
  close(): Promise<void>;
}

/** `bytes`: about how many there will be. */
export function startHashes(streams: number, bytes: number): Hashes {
  const isWorthIt = bytes >= FEWEST_BYTES && availableParallelism() > 1;
  return isWorthIt ? new HashThread(streams) : hashesHere(streams);
}

/** On the caller's own thread. */
export function hashesHere(streams: number): Hashes {
  const hashes = Array.from({ length: streams }, () => createHash('sha256'));
  return {
    update(to, bytes) {
      for (const stream of to) hashes[stream].update(bytes);
    },
    settle: async () => {},
    digests: async () => hashes.map((hash) => hash.digest('hex')),
    close: async () => {},
  };
}

/** A buffer that can be handed to a thread without a copy. */
export function sharedBytes(length: number): Uint8Array {
  return new Uint8Array(new SharedArrayBuffer(length));
}

class HashThread implements Hashes {
  readonly #thread: CompanionThread<ToHashThread, FromHashThread>;
  #waiting = 0;
  #digests: readonly string[] | undefined;

  constructor(streams: number) {
    this.#thread = new CompanionThread({
      ...{ beside: import.meta.url, file: 'hash-worker', data: streams },
      take: (message) => this.#take(message),
      endedEarly: 'the thread for digests ended early',
    });
  }

  update(streams: readonly number[], bytes: Uint8Array): void {
    this.#waiting++;
    if (bytes.buffer instanceof SharedArrayBuffer) this.#thread.send({ streams, bytes });
    else {
      const own = new Uint8Array(bytes);
      this.#thread.send({ streams, bytes: own }, [own.buffer]);
    }
  }

  settle(most: number): Promise<void> {
    return this.#thread.until(() => this.#waiting <= most);
  }

  async digests(): Promise<readonly string[]> {
    this.#thread.send('finish');
    await this.#thread.until(() => this.#digests !== undefined);
    return this.#digests as readonly string[];
  }

  close(): Promise<void> {
    return this.#thread.close();
  }

  #take(message: FromHashThread): void {
    if (message === 'done') this.#waiting--;
    else this.#digests = message;
  }
}

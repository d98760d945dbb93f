// A sliding window over the bytes of a file from one position on, for parsers that need whole frames in one piece.
import type { Chunk } from './byte-file.ts';
import { FLAC_MARGIN_BYTES } from './flac-subframe.ts';

export class ByteFeed {
  /** window: bytes[at..end) are at hand */
  bytes = new Uint8Array(FLAC_MARGIN_BYTES);
  at = 0;
  end = 0;
  /** nothing comes after `end` */
  isLast = false;
  /** file offset of bytes[0] */
  #base: number;
  readonly #chunks: AsyncIterator<Chunk>;
  readonly #saw: ((bytes: Uint8Array) => void) | undefined;

  constructor(chunks: AsyncIterator<Chunk>, startsAt: number, saw?: (bytes: Uint8Array) => void) {
    this.#chunks = chunks;
    this.#base = startsAt;
    this.#saw = saw;
  }

  get offset(): number {
    return this.#base + this.at;
  }

  has(count: number): boolean {
    return this.isLast || this.end - this.at >= count;
  }

  /** Afterwards `has(count)` is true. */
  async fill(count: number): Promise<void> {
    while (!this.has(count)) {
      const { value, done } = await this.#chunks.next();
      if (done) this.isLast = true;
      else this.#append(value.bytes);
    }
  }

  /** Takes the rest of the file without keeping it. */
  async drain(): Promise<void> {
    while (!this.isLast) {
      this.at = this.end;
      await this.fill(1);
    }
  }

  async close(): Promise<void> {
    await this.#chunks.return?.();
  }

  #append(chunk: Uint8Array): void {
    this.#saw?.(chunk);
    const kept = this.end - this.at;
    const needed = kept + chunk.length + FLAC_MARGIN_BYTES;
    if (this.end + chunk.length + FLAC_MARGIN_BYTES > this.bytes.length) {
      const target = needed > this.bytes.length ? new Uint8Array(needed * 2) : this.bytes;
      if (target === this.bytes) target.copyWithin(0, this.at, this.end);
      else target.set(this.bytes.subarray(this.at, this.end));
      this.bytes = target;
      this.#base += this.at;
      this.at = 0;
      this.end = kept;
    }
    this.bytes.set(chunk, this.end);
    this.end += chunk.length;
  }
}

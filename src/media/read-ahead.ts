// Reads of any places of a file; after two that lie one behind the other the next one is fetched beforehand, so that reading and the
// caller's work overlap. Not for streams that are read from one end to the other: ByteFile does those.
import type { ByteFile } from './byte-file.ts';

interface Fetched {
  readonly at: number;
  readonly bytes: Uint8Array;
  readonly isRead: Promise<void>;
}

/** State with a life, as long as the file is open. Two reads at the same time do not share a buffer. */
export class ReadAhead {
  readonly #file: ByteFile;
  readonly #end: number;
  readonly #bufferBytes: number;
  readonly #spares: Uint8Array[] = [];
  #next = -1;
  #fetched: Fetched | undefined;

  /** Nothing is fetched beforehand from `end` on, nor more than `bufferBytes`. */
  constructor(file: ByteFile, end: number, bufferBytes: number) {
    this.#file = file;
    this.#end = end;
    this.#bufferBytes = bufferBytes;
  }

  /** Exactly these bytes, at most `bufferBytes` of them; yours until you give them back. */
  async take(at: number, length: number): Promise<Uint8Array> {
    const fetched = this.#fetched;
    this.#fetched = undefined;
    const isWanted = fetched !== undefined && fetched.at === at && fetched.bytes.length >= length;
    if (fetched && !isWanted) void fetched.isRead.catch(() => {}).then(() => this.giveBack(fetched.bytes));
    const { bytes, isRead } = isWanted ? fetched : this.#fetch(at, length);
    const isNext = at === this.#next;
    this.#next = at + length;
    if (isNext && this.#next < this.#end) {
      this.#fetched = this.#fetch(this.#next, Math.min(length, this.#end - this.#next));
      // Told to whoever asks for these bytes.
      this.#fetched.isRead.catch(() => {});
    }
    await isRead;
    return bytes.subarray(0, length);
  }

  giveBack(bytes: Uint8Array): void {
    this.#spares.push(new Uint8Array(bytes.buffer));
  }

  #fetch(at: number, length: number): Fetched {
    const buffer = this.#spares.pop() ?? new Uint8Array(this.#bufferBytes);
    const bytes = buffer.subarray(0, length);
    return { at, bytes, isRead: this.#file.readInto(bytes, at) };
  }
}

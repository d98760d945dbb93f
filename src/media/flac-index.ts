// A sparse index of frame positions in a FLAC file, grown only as far as it is needed. Finds frames by their headers (CRC-8
// and the exact next position), which is much faster than decoding; whoever starts at an entry still checks every frame.
import type { ByteFile } from './byte-file.ts';
import { type FlacShape, positionOf } from './flac-frames.ts';
import { MOST_HEADER_BYTES, parseFlacHeader } from './flac-header.ts';

export interface FlacEntry {
  readonly frame: number;
  readonly offset: number;
}

const ENTRY_BYTES = 64 * 1024;
const WINDOW_BYTES = 1024 * 1024;

export class FlacIndex {
  readonly #file: ByteFile;
  readonly #shape: FlacShape;
  readonly #total: number;
  readonly #entries: FlacEntry[];
  /** position that the next frame must have to be believed, and where to look for it */
  #wanted = 0;
  #at: number;

  constructor(file: ByteFile, shape: FlacShape, audioAt: number, total: number) {
    this.#file = file;
    this.#shape = shape;
    this.#total = total;
    this.#at = audioAt;
    this.#entries = [{ frame: 0, offset: audioAt }];
  }

  /** The last known frame at or before `frame`. */
  async before(frame: number): Promise<FlacEntry> {
    while (this.#wanted <= frame && this.#at < this.#file.size) await this.#scan(frame);
    return this.#entries[this.#lastUpTo(frame)];
  }

  /** Looks through one window for headers. A header whose position jumps ahead is believed only after a whole window. */
  async #scan(frame: number): Promise<void> {
    const base = this.#at;
    const bytes = await this.#file.view(base, WINDOW_BYTES);
    const end = base + bytes.length === this.#file.size ? bytes.length : bytes.length - MOST_HEADER_BYTES;
    let jump: { frame: number; frames: number; at: number } | undefined;
    let isProgress = false;
    for (let at = bytes.indexOf(0xff); at >= 0 && at < end; at = bytes.indexOf(0xff, at + 1)) {
      const header = parseFlacHeader(bytes, at, bytes.length);
      const start = header && positionOf(header, this.#shape);
      if (!header || start === undefined || start + header.blockSize > this.#total) continue;
      if (start === this.#wanted) {
        this.#note({ frame: start, offset: base + at });
        this.#wanted = start + header.blockSize;
        isProgress = true;
        jump = undefined;
        this.#at = base + at + header.length;
        if (this.#wanted > frame) return;
      } else if (start > this.#wanted) jump ??= { frame: start, frames: header.blockSize, at: base + at };
    }
    if (!isProgress && jump) {
      this.#wanted = jump.frame;
      this.#at = jump.at;
    } else if (!isProgress) this.#at = base + Math.max(end, 1);
  }

  #note(entry: FlacEntry): void {
    if (entry.offset - this.#entries[this.#entries.length - 1].offset >= ENTRY_BYTES) this.#entries.push(entry);
  }

  #lastUpTo(frame: number): number {
    let low = 0;
    let high = this.#entries.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.#entries[middle].frame <= frame) low = middle;
      else high = middle - 1;
    }
    return low;
  }
}

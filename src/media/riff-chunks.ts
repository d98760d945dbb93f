// Walks the chunks of a RIFF, RF64, BW64 or AIFF file without believing any size: every chunk is cut to the file, a lost pad byte
// is found again, and the walk ends at the first bytes that are no chunk. Says nothing about what the chunks mean.
// Layout: RIFF (four-byte id, u32 size without header and pad), RF64/ds64 after EBU Tech 3306 and ITU-R BS.2088.
import { type Problem, TapeproofError } from '../base/index.ts';
import type { ChunkWalk, FileChunk } from './audio-chunk.ts';
import type { ByteFile } from './byte-file.ts';

/** What differs between RIFF and the older IFF family. */
interface Dialect {
  readonly isBig: boolean;
  readonly audioId: string;
  /** bytes that the body of the audio chunk has before the audio */
  readonly audioSkip: number;
  readonly knownIds: ReadonlySet<string>;
}

const CONTAINERS: Record<string, ChunkWalk['container'] | undefined> = {
  'RIFF WAVE': 'wave',
  'RF64 WAVE': 'rf64',
  'BW64 WAVE': 'bw64',
  'FORM AIFF': 'aiff',
  'FORM AIFC': 'aifc',
};
const MOST_CHUNKS = 4096;
const MOST_TABLE_ENTRIES = 256;
const MOST_LOOKAHEAD = 64;
/** Ids that are believed at once after audio; any other id must lead to one of these or to the exact end of the file. */
const WAVE_IDS =
  'fmt |data|fact|LIST|JUNK|junk|PAD |FLLR|bext|iXML|axml|bxml|sxml|chna|cue |smpl|inst|plst|ds64|umid|id3 |ID3 |_PMX|cart|qlty|levl|link|mext|acid|afsp|r64m|DISP|PEAK|DGDA|minf|elm1|regn';
const AIFF_IDS = 'COMM|SSND|FVER|MARK|INST|COMT|COMM|NAME|AUTH|(c) |ANNO|AESD|MIDI|APPL|SAXL|ID3 |CHAN|FLLR|PEAK';

const RIFF: Dialect = { isBig: false, audioId: 'data', audioSkip: 0, knownIds: new Set(WAVE_IDS.split('|')) };
const IFF: Dialect = { isBig: true, audioId: 'SSND', audioSkip: 8, knownIds: new Set(AIFF_IDS.split('|')) };

interface Ds64 {
  readonly riffBytes: number;
  readonly dataBytes: number;
  readonly table: ReadonlyMap<string, number>;
}

/** Undefined when the file does not begin as one of the five. */
export function riffContainer(head: Uint8Array): ChunkWalk['container'] | undefined {
  return CONTAINERS[`${ascii(head, 0)} ${ascii(head, 8)}`];
}

/** RIFF, RF64 and BW64, or AIFF and AIFC. Throws `input` when the file does not begin as one of them. */
export async function walkRiff(file: ByteFile): Promise<ChunkWalk> {
  const head = await file.view(0, 12);
  const container = riffContainer(head);
  if (!container) throw new TapeproofError('input', 'no chunks to read', { path: file.path, offset: 0 });
  const dialect = container === 'aiff' || container === 'aifc' ? IFF : RIFF;
  const walker = new Walker(file, container, dialect, u32(head, 4, dialect.isBig));
  return walker.walk();
}

class Walker {
  readonly #file: ByteFile;
  readonly #container: ChunkWalk['container'];
  readonly #dialect: Dialect;
  readonly #riffClaim: number;
  readonly #chunks: FileChunk[] = [];
  readonly #problems: Problem[] = [];
  #ds64: Ds64 | undefined;
  #hasAudio = false;

  constructor(file: ByteFile, container: ChunkWalk['container'], dialect: Dialect, riffClaim: number) {
    this.#file = file;
    this.#container = container;
    this.#dialect = dialect;
    this.#riffClaim = riffClaim;
  }

  async walk(): Promise<ChunkWalk> {
    let at = 12;
    while (this.#chunks.length < MOST_CHUNKS && (await this.#isChunkAt(at))) {
      const chunk = await this.#chunkAt(at);
      this.#chunks.push(chunk);
      if (chunk.id === 'ds64' && !this.#ds64 && this.#isLarge) this.#ds64 = await this.#readDs64(chunk);
      if (chunk.id === this.#dialect.audioId) this.#hasAudio = true;
      at = await this.#after(chunk);
    }
    this.#checkRiffSize();
    const restAt = Math.min(at, this.#file.size);
    return { container: this.#container, chunks: this.#chunks, restAt, problems: this.#problems };
  }

  get #isLarge(): boolean {
    return this.#container === 'rf64' || this.#container === 'bw64';
  }

  /** Whether a chunk header at `at` can be believed. Before the audio any printable id will do. */
  async #isChunkAt(at: number): Promise<boolean> {
    if (at + 8 > this.#file.size) return false;
    const id = ascii(await this.#file.view(at, 4), 0);
    if (!isPrintable(id)) return false;
    return this.#dialect.knownIds.has(id) || this.#leadsSomewhere(at);
  }

  /** Follows sizes from an unknown id to a known one or to the exact end of the file. Audio does that only by a miracle. */
  async #leadsSomewhere(from: number): Promise<boolean> {
    let at = from;
    for (let steps = 0; steps < MOST_LOOKAHEAD; steps++) {
      if (at === this.#file.size) return true;
      if (at + 8 > this.#file.size) return false;
      const head = await this.#file.view(at, 8);
      if (!isPrintable(ascii(head, 0))) return false;
      if (this.#dialect.knownIds.has(ascii(head, 0))) return true;
      const end = at + 8 + u32(head, 4, this.#dialect.isBig);
      at = end === this.#file.size ? end : end + (end % 2);
    }
    return false;
  }

  async #chunkAt(at: number): Promise<FileChunk> {
    const head = await this.#file.view(at, 8);
    const id = ascii(head, 0);
    const bodyAt = at + 8;
    const size = u32(head, 4, this.#dialect.isBig);
    const claimed = this.#claimedSize(id, size);
    const left = this.#file.size - bodyAt;
    if (id === this.#dialect.audioId && !this.#hasAudio) {
      const recovered = await this.#recovery(bodyAt, claimed, left, claimed === size);
      if (recovered) return { id, at, bodyAt, claimed, bytes: left, recovered };
    } else if (claimed > left) this.#truncated(id, at, claimed, left);
    return { id, at, bodyAt, claimed, bytes: Math.min(claimed, left) };
  }

  /** RF64 puts 0xFFFFFFFF where ds64 knows better. A 32-bit size that is no placeholder stays in force. */
  #claimedSize(id: string, size: number): number {
    if (size !== 0xffffffff || !this.#ds64) return size;
    return (id === 'data' ? this.#ds64.dataBytes : this.#ds64.table.get(id)) ?? size;
  }

  /** Sizes that a recorder leaves when power is lost, and sizes that wrapped round at 4 GiB in a plain RIFF. */
  async #recovery(
    bodyAt: number,
    claimed: number,
    left: number,
    is32: boolean,
  ): Promise<FileChunk['recovered'] | undefined> {
    // 0xFFFFFFFF is a mark even in a file that is longer than that.
    if (is32 && isPlaceholder(claimed) && (claimed > left || claimed === 0xffffffff)) return 'placeholder';
    const { audioSkip } = this.#dialect;
    const isNothing = claimed === 0 || claimed === audioSkip;
    if (isNothing && left > audioSkip && !(await this.#isChunkAt(bodyAt + claimed))) return 'placeholder';
    if (left > 0xffffffff && claimed > 0 && left % 2 ** 32 === claimed) return 'wrapped';
    return undefined;
  }

  #truncated(id: string, at: number, claimed: number, left: number): void {
    const message = `chunk "${id}" is longer than the file`;
    const place = { offset: at, expected: `${claimed} bytes`, found: `${left} bytes` };
    this.#problems.push({ id: 'chunk-truncated', severity: 'warning', message, ...place });
  }

  /** Where the next chunk begins: after the pad byte, or without it, or where a format chunk of usual size would end. */
  async #after(chunk: FileChunk): Promise<number> {
    const end = chunk.bodyAt + chunk.bytes;
    const padded = end + (chunk.bytes % 2);
    if (chunk.id === 'fmt ' && chunk.claimed > chunk.bytes) return this.#afterWrongFormat(chunk, padded);
    if (padded >= this.#file.size || (await this.#isChunkAt(padded))) {
      if (padded > this.#file.size && chunk.claimed === chunk.bytes) this.#padMissing(chunk, end);
      return padded;
    }
    if (padded !== end && (await this.#isChunkAt(end))) {
      this.#padMissing(chunk, end);
      return end;
    }
    return chunk.id === 'fmt ' ? this.#afterWrongFormat(chunk, padded) : padded;
  }

  #padMissing(chunk: FileChunk, end: number): void {
    const message = `the pad byte after chunk "${chunk.id}" of odd size is missing`;
    this.#problems.push({ id: 'pad-missing', severity: 'note', message, offset: end });
  }

  async #afterWrongFormat(chunk: FileChunk, fallback: number): Promise<number> {
    for (const size of [16, 18, 40]) {
      if (await this.#isChunkAt(chunk.bodyAt + size)) {
        const message = 'the format chunk states a wrong size; the next chunk was found where a usual one would end';
        const place = { offset: chunk.at + 4, expected: `${size}`, found: `${chunk.claimed}` };
        this.#problems.push({ id: 'chunk-size-wrong', severity: 'warning', message, ...place });
        return chunk.bodyAt + size;
      }
    }
    return fallback;
  }

  async #readDs64(chunk: FileChunk): Promise<Ds64> {
    const body = await this.#file.view(chunk.bodyAt, Math.min(chunk.bytes, 28 + 12 * MOST_TABLE_ENTRIES));
    const table = new Map<string, number>();
    const entries = body.length >= 28 ? Math.min(u32(body, 24), MOST_TABLE_ENTRIES) : 0;
    for (let i = 0; i < entries && 28 + 12 * (i + 1) <= body.length; i++)
      table.set(ascii(body, 28 + 12 * i), u64(body, 32 + 12 * i));
    return body.length < 16
      ? { riffBytes: 0, dataBytes: 0, table }
      : { riffBytes: u64(body, 0), dataBytes: u64(body, 8), table };
  }

  #checkRiffSize(): void {
    if (this.#isLarge) this.#checkDs64();
    const claimed = this.#riffClaim === 0xffffffff && this.#ds64 ? this.#ds64.riffBytes : this.#riffClaim;
    const actual = this.#file.size - 8;
    // A file of odd length may or may not count the last pad byte.
    if (Math.abs(claimed - actual) <= 1) return;
    const message = 'the size of the whole file in its header is wrong; not used for reading';
    const place = { offset: 4, expected: `${actual}`, found: `${claimed}` };
    this.#problems.push({ id: 'riff-size-wrong', severity: 'note', message, ...place });
  }

  #checkDs64(): void {
    const first = this.#chunks[0];
    const ds64 = this.#ds64;
    if (!ds64) {
      const message = 'the chunk that holds the 64-bit sizes is missing; sizes were taken from the file itself';
      this.#problems.push({ id: 'ds64-missing', severity: 'warning', message, offset: 12, expected: 'ds64' });
    } else if (ds64.dataBytes === 0) {
      const message = 'the 64-bit sizes are zero, as after a loss of power; sizes were taken from the file itself';
      this.#problems.push({ id: 'ds64-zero', severity: 'warning', message, offset: 12, found: '0' });
    } else if (first?.id !== 'ds64') {
      const message = 'the chunk with the 64-bit sizes is not the first one';
      this.#problems.push({ id: 'ds64-not-first', severity: 'note', message, offset: 12, found: `"${first?.id}"` });
    }
  }
}

/** 0x7FFFFFFF or 0xFFFFFFFF, less the length of a header where the writer subtracted it or rounded down to 4 KiB. */
export function isPlaceholder(size: number): boolean {
  return (size >= 0x7ffff000 && size <= 0x7fffffff) || size >= 0xfffff000;
}

export function isPrintable(id: string): boolean {
  return /^[\x20-\x7e]{4}$/.test(id);
}

export function ascii(bytes: Uint8Array, at: number): string {
  return bytes.length < at + 4 ? '' : String.fromCharCode(bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]);
}

function u32(bytes: Uint8Array, at: number, isBig = false): number {
  if (isBig) return ((bytes[at] << 24) | (bytes[at + 1] << 16) | (bytes[at + 2] << 8) | bytes[at + 3]) >>> 0;
  return (bytes[at] | (bytes[at + 1] << 8) | (bytes[at + 2] << 16) | (bytes[at + 3] << 24)) >>> 0;
}

/** Exact below 2^53; what lies above cannot be a size of anything here and stays huge. */
export function u64(bytes: Uint8Array, at: number): number {
  return u32(bytes, at) + u32(bytes, at + 4) * 2 ** 32;
}

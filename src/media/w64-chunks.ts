// Walks the chunks of a W64 file: sixteen-byte ids, 64-bit sizes that include the header, every chunk aligned to eight bytes.
// Chunks whose id wraps a four-letter one come out under those letters, so that wave-layout reads both kinds alike.
// Layout: as libsndfile reads and writes it (T).
import { type Problem, TapeproofError } from '../base/index.ts';
import type { ChunkWalk, FileChunk } from './audio-chunk.ts';
import type { ByteFile } from './byte-file.ts';
import { ascii, isPrintable, u64 } from './riff-chunks.ts';

const RIFF_GUID = '726966662e91cf11a5d628db04c10000';
const WAVE_GUID = '77617665f3acd3118cd100c04f8edb8a';
/** behind "fmt ", "data", "bext" and the other ids */
const CHUNK_TAIL = WAVE_GUID.slice(8);
/** marks, levels, summary list: known, with a tail of their own */
const HEADER_BYTES = 24;
const MOST_CHUNKS = 4096;

export function isW64(head: Uint8Array): boolean {
  return hex(head.subarray(0, 16)) === RIFF_GUID;
}

/** Throws `input` when the file is no W64 with WAVE inside. */
export async function walkW64(file: ByteFile): Promise<ChunkWalk> {
  const head = await file.view(0, 40);
  if (!isW64(head) || hex(head.subarray(24, 40)) !== WAVE_GUID) {
    const expected = 'the WAVE id behind the size of the file';
    throw new TapeproofError('input', 'a W64 file without WAVE inside', { path: file.path, offset: 24, expected });
  }
  const chunks: FileChunk[] = [];
  const problems = fileSizeProblems(u64(head, 16), file.size);
  let at = 40;
  while (chunks.length < MOST_CHUNKS) {
    const chunk = await chunkAt(file, at, chunks);
    if (!chunk) break;
    if (chunk.claimed > chunk.bytes && chunk.id !== 'data') problems.push(truncated(chunk));
    chunks.push(chunk);
    at = chunk.bodyAt + chunk.bytes;
    at += (8 - (at % 8)) % 8;
  }
  return { container: 'w64', chunks, restAt: Math.min(at, file.size), problems };
}

/** Undefined where no chunk can be: at the end, or where id or size make none. */
async function chunkAt(file: ByteFile, at: number, before: readonly FileChunk[]): Promise<FileChunk | undefined> {
  const head = await file.view(at, HEADER_BYTES);
  if (head.length < HEADER_BYTES) return undefined;
  const isUsual = hex(head.subarray(4, 16)) === CHUNK_TAIL && isPrintable(ascii(head, 0));
  const id = isUsual ? ascii(head, 0) : hex(head.subarray(0, 16));
  const size = u64(head, 16);
  const bodyAt = at + HEADER_BYTES;
  const left = file.size - bodyAt;
  const hasAudio = before.some((chunk) => chunk.id === 'data');
  if (id === 'data' && !hasAudio && (await isUnset(file, size, bodyAt, left)))
    return { id, at, bodyAt, claimed: Math.max(0, size - HEADER_BYTES), bytes: left, recovered: 'placeholder' };
  if (size < HEADER_BYTES) return undefined;
  // Behind the audio an unknown id must end inside the file, or it is audio that a wrong size left over.
  if (!isUsual && (size - HEADER_BYTES > left || (hasAudio && size === HEADER_BYTES))) return undefined;
  const claimed = size - HEADER_BYTES;
  return { id, at, bodyAt, claimed, bytes: Math.min(claimed, left) };
}

/** 0, only the header, or beyond 2^62: never filled in. */
async function isUnset(file: ByteFile, size: number, bodyAt: number, left: number): Promise<boolean> {
  if (size >= 2 ** 62) return true;
  if (size > HEADER_BYTES || left === 0) return false;
  const next = await file.view(bodyAt, HEADER_BYTES);
  return next.length < HEADER_BYTES || hex(next.subarray(4, 16)) !== CHUNK_TAIL;
}

function fileSizeProblems(claimed: number, actual: number): Problem[] {
  // Writers differ in whether the last alignment counts.
  if (Math.abs(claimed - actual) < 8) return [];
  const message = 'the size of the whole file in its header is wrong; not used for reading';
  const place = { offset: 16, expected: `${actual}`, found: `${claimed}` };
  return [{ id: 'riff-size-wrong', severity: 'note', message, ...place }];
}

function truncated({ id, at, claimed, bytes }: FileChunk): Problem {
  const message = `chunk "${id}" is longer than the file`;
  const place = { offset: at, expected: `${claimed} bytes`, found: `${bytes} bytes` };
  return { id: 'chunk-truncated', severity: 'warning', message, ...place };
}

function hex(bytes: Uint8Array): string {
  return Buffer.from(bytes).toString('hex');
}

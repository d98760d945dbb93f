// Files that appear whole or not at all: written under a temporary name in the same folder, flushed, read back, compared,
// renamed. Used for every document and, through wave-writer, for every audio file.
import { createHash, randomBytes } from 'node:crypto';
import { type FileHandle, open, rename, unlink } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { TapeproofError } from '../base/index.ts';

/** `.NAME.tapeproof-PID-XXXX.part` beside the target: recognisable when a killed run left it behind. */
export function temporaryName(path: string): string {
  const mark = randomBytes(4).toString('hex');
  return join(dirname(path), `.${basename(path)}.tapeproof-${process.pid}-${mark}.part`);
}

export function isTemporaryName(name: string): boolean {
  return /^\..+\.tapeproof-\d+-[0-9a-f]+\.part$/.test(basename(name));
}

/**
 * Writes a whole document, given whole or in parts. After it returns the target holds exactly that; when it throws (`io`), or
 * the process is killed, the target holds what it held before.
 */
export async function writeFileSafely(path: string, parts: string | Uint8Array | Iterable<string>): Promise<void> {
  const temporary = temporaryName(path);
  const handle = await openNew(temporary, path);
  try {
    const written = await ioOf(path, () => writeParts(handle, parts));
    await ioOf(path, () => handle.sync());
    const back = await ioOf(path, () => sha256OfFile(handle, written.bytes + 1));
    if (back !== written.sha256) throw notAsWritten(path);
    await handle.close();
    await moveIntoPlace(temporary, path);
  } catch (error) {
    await discard(handle, temporary);
    throw error;
  }
}

const CHUNK_LENGTH = 1 << 20;

async function writeParts(handle: FileHandle, parts: string | Uint8Array | Iterable<string>) {
  const hash = createHash('sha256');
  let bytes = 0;
  const put = async (chunk: Uint8Array) => {
    hash.update(chunk);
    await handle.writeFile(chunk);
    bytes += chunk.length;
  };
  if (parts instanceof Uint8Array) await put(parts);
  else {
    let text = '';
    for (const part of typeof parts === 'string' ? [parts] : parts) {
      text += part;
      if (text.length < CHUNK_LENGTH) continue;
      await put(Buffer.from(text, 'utf8'));
      text = '';
    }
    await put(Buffer.from(text, 'utf8'));
  }
  return { bytes, sha256: hash.digest('hex') };
}

/** Opens a file that does not exist yet. */
export function openNew(temporary: string, path: string): Promise<FileHandle> {
  return ioOf(path, () => open(temporary, 'wx+'));
}

/** Renames and makes the rename itself durable. */
export async function moveIntoPlace(temporary: string, path: string): Promise<void> {
  await ioOf(path, () => rename(temporary, path));
  await ioOf(path, () => syncFolder(dirname(path)));
}

export async function discard(handle: FileHandle, temporary: string): Promise<void> {
  await handle.close().catch(() => {});
  await unlink(temporary).catch(() => {});
}

export function notAsWritten(path: string): TapeproofError {
  const next = 'distrust this disk: check it and its cable, and write to another one';
  return new TapeproofError('io', 'what was read back differs from what was written', { path, next });
}

/** Turns a failure of the machine into our error, with the path; our own errors pass untouched. */
export async function ioOf<T>(path: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (cause) {
    if (cause instanceof TapeproofError) throw cause;
    const found = cause instanceof Error && 'code' in cause ? String(cause.code) : String(cause);
    const next = 'check that the folder exists, may be written to and has room';
    throw new TapeproofError('io', 'the file cannot be written', { path, found, next, cause });
  }
}

async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

/** Digest of at most `most` bytes from the start of an open file. */
async function sha256OfFile(handle: FileHandle, most: number): Promise<string> {
  const hash = createHash('sha256');
  const buffer = new Uint8Array(Math.max(1, Math.min(most, 1024 * 1024)));
  for (let at = 0; at < most; ) {
    const { bytesRead } = await handle.read(buffer, 0, Math.min(buffer.length, most - at), at);
    if (bytesRead === 0) break;
    hash.update(buffer.subarray(0, bytesRead));
    at += bytesRead;
  }
  return hash.digest('hex');
}

// A regular file opened read-only: positioned reads with one small window kept, and a double-buffered stream of a region.
// Knows nothing of audio.
import { type FileHandle, open, stat } from 'node:fs/promises';
import { type StopSignal, TapeproofError, throwIfStopped } from '../base/index.ts';

const WINDOW_BYTES = 256 * 1024;
/** A look at a place far from the last one: a header here and there must not cost a whole window each. */
const GLANCE_BYTES = 4 * 1024;

/** Of a stream: one is being read, one is with the caller, those before it may still be with others. */
export const STREAM_BUFFERS = 4;

export interface Chunk {
  /** byte offset in the file */
  readonly at: number;
  /** valid until the third chunk after it is asked for */
  readonly bytes: Uint8Array;
}

export class ByteFile {
  readonly path: string;
  /** what `info.name` says; messages about bytes keep to the path */
  readonly name: string;
  /** at the time of opening */
  readonly size: number;
  readonly #handle: FileHandle;
  #window: Chunk = { at: 0, bytes: new Uint8Array(0) };
  #isClosed = false;

  constructor(path: string, size: number, handle: FileHandle, name = path) {
    this.path = path;
    this.name = name;
    this.size = size;
    this.#handle = handle;
  }

  /** A view of up to `length` bytes at `at`; short only at the end of the file. Small reads come from the window. */
  async view(at: number, length: number): Promise<Uint8Array> {
    const wanted = Math.max(0, Math.min(length, this.size - at));
    if (wanted === 0) return new Uint8Array(0);
    const held = this.#window;
    if (at >= held.at && at + wanted <= held.at + held.bytes.length)
      return held.bytes.subarray(at - held.at, at - held.at + wanted);
    const isNear = at >= held.at && at <= held.at + held.bytes.length + GLANCE_BYTES;
    const most = Math.max(wanted, isNear ? WINDOW_BYTES : GLANCE_BYTES);
    const bytes = new Uint8Array(Math.min(most, this.size - at));
    await this.readInto(bytes, at);
    if (bytes.length <= WINDOW_BYTES) this.#window = { at, bytes };
    return bytes.subarray(0, wanted);
  }

  /** Fills the whole of `target`. Throws `io` when the file has become shorter since it was opened. */
  async readInto(target: Uint8Array, at: number): Promise<void> {
    for (let done = 0; done < target.length; ) {
      const { bytesRead } = await this.#read(target, done, at + done);
      if (bytesRead === 0) {
        throw new TapeproofError('io', 'the file became shorter while it was read', {
          path: this.path,
          offset: at + done,
          expected: `${this.size} bytes`,
          next: 'make sure that nothing writes to the file, then try again',
        });
      }
      done += bytesRead;
    }
  }

  /**
   * The bytes [from, to) in order. Reads one chunk ahead, so that reading and the caller's work overlap. `makeBuffer`: where the bytes
   * shall lie.
   */
  async *stream(
    from: number,
    to: number,
    chunkBytes: number,
    stop?: StopSignal,
    makeBuffer: (length: number) => Uint8Array = (length) => new Uint8Array(length),
  ): AsyncGenerator<Chunk> {
    const length = Math.max(0, Math.min(chunkBytes, to - from));
    const buffers = Array.from({ length: STREAM_BUFFERS }, () => makeBuffer(length));
    let turn = 0;
    const fetch = async (at: number): Promise<Chunk> => {
      const bytes = buffers[turn++ % STREAM_BUFFERS].subarray(0, Math.min(chunkBytes, to - at));
      await this.readInto(bytes, at);
      return { at, bytes };
    };
    let next = from < to ? fetch(from) : undefined;
    try {
      while (next) {
        throwIfStopped(stop);
        const chunk = await next;
        const end = chunk.at + chunk.bytes.length;
        next = end < to ? fetch(end) : undefined;
        yield chunk;
      }
    } finally {
      await next?.catch(() => {});
    }
  }

  async close(): Promise<void> {
    if (this.#isClosed) return;
    this.#isClosed = true;
    await this.#handle.close();
  }

  async #read(target: Uint8Array, offset: number, at: number) {
    try {
      return await this.#handle.read(target, offset, target.length - offset, at);
    } catch (cause) {
      const next = 'check the disk, then try again';
      throw new TapeproofError('io', 'the file cannot be read here', { path: this.path, offset: at, next, cause });
    }
  }
}

/** Throws `input` for a missing file, a folder or anything else that is no regular file; `io` when the machine refuses. */
export async function openBytes(path: string, name = path): Promise<ByteFile> {
  try {
    const found = await stat(path);
    if (!found.isFile()) throw notRegular(path, found.isDirectory() ? 'a folder' : 'a device, pipe or socket');
    return new ByteFile(path, found.size, await open(path, 'r'), name);
  } catch (cause) {
    throw cause instanceof TapeproofError ? cause : openFailure(path, cause);
  }
}

function notRegular(path: string, found: string): TapeproofError {
  const next = 'name the audio file itself';
  return new TapeproofError('input', 'not a file that can be read', { path, expected: 'a regular file', found, next });
}

function openFailure(path: string, cause: unknown): TapeproofError {
  const code = cause instanceof Error && 'code' in cause ? String(cause.code) : String(cause);
  if (code === 'ENOENT' || code === 'ENOTDIR')
    return new TapeproofError('input', 'no such file', { path, next: 'check the name and the folder', cause });
  return new TapeproofError('io', 'the file cannot be opened', {
    path,
    found: code,
    next: 'check its permissions',
    cause,
  });
}

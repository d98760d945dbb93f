// Reads a small text file a person wrote, with clear errors for what is not one: too large, binary, a folder, missing.
// Not for captures.
import { isUtf8 } from 'node:buffer';
import { open, stat } from 'node:fs/promises';
import { TapeproofError } from '../base/index.ts';

/** `what` names the kind of file in messages. Throws `input` (missing, not a file, not UTF-8) or `limit`. */
export async function readTextFile(path: string, what: string, mostBytes: number): Promise<string> {
  const bytes = await readBounded(path, what, mostBytes);
  const zero = bytes.indexOf(0);
  if (zero < 0 && isUtf8(bytes)) return bytes.toString('utf8');
  throw new TapeproofError('input', 'this is not a text file', {
    path,
    offset: zero >= 0 ? zero : Buffer.byteLength(bytes.toString('utf8').split('\ufffd')[0]),
    expected: `a ${what}: text in UTF-8`,
    next: 'check that the right file was given',
  });
}

async function readBounded(path: string, what: string, mostBytes: number): Promise<Buffer> {
  const info = await stat(path).catch((cause: unknown) => {
    throw new TapeproofError('input', `the ${what} cannot be opened`, { path, cause, next: 'check the path' });
  });
  if (!info.isFile()) throw new TapeproofError('input', `the ${what} is not a file`, { path, next: 'check the path' });
  if (info.size > mostBytes) {
    const found = `${info.size} bytes`;
    const next = 'check that the right file was given';
    throw new TapeproofError('limit', `too large for a ${what}`, {
      path,
      expected: `${mostBytes} bytes at most`,
      found,
      next,
    });
  }
  const file = await open(path, 'r');
  try {
    const buffer = Buffer.alloc(info.size);
    const { bytesRead } = await file.read(buffer, 0, info.size, 0);
    return buffer.subarray(0, bytesRead);
  } finally {
    await file.close();
  }
}

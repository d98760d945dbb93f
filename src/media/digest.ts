// Digests of whole files without the samples: for fixity checks of packages and for comparing audio across containers.
import { createHash } from 'node:crypto';
import { TapeproofError } from '../base/index.ts';
import type { Digests, PassOptions } from './audio-file.ts';
import { openBytes } from './byte-file.ts';
import { openAudio } from './open-audio.ts';

const CHUNK_BYTES = 2 * 1024 * 1024;

type DigestOptions = Pick<PassOptions, 'stop' | 'onBytes'>;

/** SHA-256 of any regular file, and how many bytes it is of. Throws as `openAudio` does. */
export async function digestFile(
  path: string,
  options: DigestOptions = {},
): Promise<{ sha256: string; bytes: number }> {
  const file = await openBytes(path);
  try {
    const hash = createHash('sha256');
    for await (const { at, bytes } of file.stream(0, file.size, CHUNK_BYTES, options.stop)) {
      hash.update(bytes);
      options.onBytes?.(at + bytes.length, file.size);
    }
    return { sha256: hash.digest('hex'), bytes: file.size };
  } finally {
    await file.close();
  }
}

/** Both digests of an audio file. Throws `input` when the audio is not whole: half of it must not pass for all. */
export async function digestAudio(path: string, options: DigestOptions = {}): Promise<Digests> {
  const audio = await openAudio(path);
  try {
    const pass = audio.pass(options);
    for await (const _ of pass.blocks) void _;
    if (audio.info.readAs === 'partial') {
      const found = pass
        .problems()
        .map(({ id }) => id)
        .join(', ');
      throw new TapeproofError('input', 'the audio is not whole', { path, expected: 'a file without damage', found });
    }
    return pass.digests();
  } finally {
    await audio.close();
  }
}

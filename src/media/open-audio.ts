// Opens an audio file by what its first bytes say, never by its name.
import { TapeproofError } from '../base/index.ts';
import type { AudioFile } from './audio-file.ts';
import { openBytes } from './byte-file.ts';
import { openFlac } from './flac-file.ts';
import { findFlac } from './flac-metadata.ts';
import { openWave } from './wave-file.ts';

export interface OpenOptions {
  /** how documents and findings call the file: `info.name`; the path when left out */
  readonly name?: string;
}

/**
 * Opens WAVE, RF64, BW64 and FLAC files read-only. What could be read in spite of faults is told in `info.problems`.
 * Throws TapeproofError `input`, `unsupported` or `io` with path, byte offset, expected, found and the next step.
 */
export async function openAudio(path: string, options: OpenOptions = {}): Promise<AudioFile> {
  const file = await openBytes(path, options.name);
  try {
    if (file.size === 0) throw empty(path);
    const flacAt = await findFlac(file);
    return flacAt === undefined ? await openWave(file) : await openFlac(file, flacAt);
  } catch (error) {
    await file.close();
    throw error;
  }
}

function empty(path: string): TapeproofError {
  const next = 'look for another copy: nothing was ever written to this one';
  return new TapeproofError('input', 'the file is empty', { path, expected: 'an audio file', found: '0 bytes', next });
}

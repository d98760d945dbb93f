// Opens an audio file by what its first bytes say, never by its name.
import { TapeproofError } from '../base/index.ts';
import { openAiff } from './aiff-file.ts';
import type { LayoutOptions } from './audio-chunk.ts';
import type { AudioFile } from './audio-file.ts';
import { type ByteFile, openBytes } from './byte-file.ts';
import { openCaf } from './caf-file.ts';
import { openDat } from './dat/open-dat.ts';
import { type DvOptions, openDv } from './dv/open-dv.ts';
import { openFlac } from './flac-file.ts';
import { findFlac } from './flac-metadata.ts';
import { openRaw, type RawSpec } from './raw-file.ts';
import { ascii, riffContainer } from './riff-chunks.ts';
import { isW64 } from './w64-chunks.ts';
import { openW64, openWave } from './wave-file.ts';

export interface OpenOptions {
  /** how documents and findings call the file: `info.name`; the path when left out */
  readonly name?: string | undefined;
  /**
   * Where the stated size of the audio is too short and bytes follow that are no chunk, reads them as audio and says so.
   * Without it they are only reported, as damage. Not for FLAC, which knows its frames, nor for bare samples.
   */
  readonly takeTrailing?: boolean | undefined;
  /** the file holds bare samples, stored so; whatever its first bytes look like */
  readonly raw?: RawSpec | undefined;
  /** which stretch of a DV stream whose mode changes, counted from 1 */
  readonly segment?: number | undefined;
}

/**
 * Opens WAVE, RF64, BW64, W64, AIFF, AIFC, CAF and FLAC files, DV streams and DAT frame dumps read-only. What could be read in spite of faults is told in
 * `info.problems`. Throws TapeproofError `input`, `unsupported` or `io` with path, byte offset, expected, found and the next step.
 */
export async function openAudio(path: string, options: OpenOptions = {}): Promise<AudioFile> {
  const { raw, name, segment } = options;
  if (raw && segment !== undefined) throw noSegments(path, 'raw');
  if (raw) return openRaw(path, raw, name === undefined ? {} : { name });
  const file = await openBytes(path, options.name);
  try {
    const audio = await openContents(file, options);
    const { container } = audio.info;
    if (segment !== undefined && !/^(dv|dat)/.test(container)) throw noSegments(path, container);
    return audio;
  } catch (error) {
    await file.close();
    throw error;
  }
}

async function openContents(file: ByteFile, options: LayoutOptions & DvOptions): Promise<AudioFile> {
  if (file.size === 0) throw empty(file.path);
  const flacAt = await findFlac(file);
  if (flacAt !== undefined) return openFlac(file, flacAt);
  const head = await file.view(0, 16);
  if (isW64(head)) return openW64(file, options);
  if (ascii(head, 0) === 'caff') return openCaf(file, options);
  const container = riffContainer(head);
  if (container === 'aiff' || container === 'aifc') return openAiff(file, options);
  if (container) return openWave(file, options);
  const tape = (await openDat(file, options)) ?? (await openDv(file, head, options));
  if (tape) return tape;
  throw unknown(file.path, head);
}

function noSegments(path: string, found: string): TapeproofError {
  const next = 'leave the segment out';
  return new TapeproofError('input', 'only images of a tape have segments', {
    path,
    expected: 'a DV stream or DAT frames',
    found,
    next,
  });
}

function empty(path: string): TapeproofError {
  const next = 'look for another copy: nothing was ever written to this one';
  return new TapeproofError('input', 'the file is empty', { path, expected: 'an audio file', found: '0 bytes', next });
}

function unknown(path: string, head: Uint8Array): TapeproofError {
  return new TapeproofError('input', 'no audio file of a known kind', {
    path,
    offset: 0,
    expected: 'WAVE, RF64, BW64, W64, AIFF, AIFC, CAF, FLAC, DV or DAT frames',
    found: `bytes ${Buffer.from(head.subarray(0, 12)).toString('hex')}`,
    next: 'check that this is the file the recorder wrote; for bare samples say how they are stored (--raw 48000:2:s24le, or raw: on the sheet)',
  });
}

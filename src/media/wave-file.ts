// Opens WAVE, RF64, BW64 and W64 files: the chunks and the format are settled in wave-layout, reading is pcm-file's.
import type { LayoutOptions } from './audio-chunk.ts';
import type { AudioFile } from './audio-file.ts';
import type { ByteFile } from './byte-file.ts';
import { PcmFile } from './pcm-file.ts';
import { walkRiff } from './riff-chunks.ts';
import { walkW64 } from './w64-chunks.ts';
import { findWaveLayout } from './wave-layout.ts';

export async function openWave(file: ByteFile, options: LayoutOptions): Promise<AudioFile> {
  return new PcmFile(file, await findWaveLayout(file, await walkRiff(file), options));
}

export async function openW64(file: ByteFile, options: LayoutOptions): Promise<AudioFile> {
  return new PcmFile(file, await findWaveLayout(file, await walkW64(file), options));
}

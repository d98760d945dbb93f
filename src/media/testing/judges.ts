// Independent readers of audio files, each giving interleaved samples moved up to 32 bits, and ours in the same shape.
// What each tool cannot be trusted with is in the standards notes, section 0 (ffmpeg: 24-in-32; sox: padded bits, odd FLAC depths).
import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import type { AudioFile } from '../audio-file.ts';
import { tempFolder } from './tools.ts';

const run = promisify(execFile);
const AS_BYTES = { encoding: 'buffer', maxBuffer: 2 ** 30 } as const;

export async function ffmpegSamples(path: string): Promise<Int32Array> {
  const options = ['-v', 'error', '-i', path, '-f', 's32le', '-c:a', 'pcm_s32le', '-'];
  return words((await run('ffmpeg', options, AS_BYTES)).stdout);
}

export async function soxSamples(path: string): Promise<Int32Array> {
  const format = ['-t', 'raw', '-e', 'signed-integer', '-b', '32', '-L', '-'];
  return words((await run('sox', ['-D', path, ...format], AS_BYTES)).stdout);
}

/** libsndfile through its own converter. */
export async function sndfileSamples(path: string): Promise<Int32Array> {
  const raw = join(await tempFolder(), 'out.raw');
  await run('sndfile-convert', ['-pcm32', path, raw]);
  return words(await readFile(raw));
}

/** The reference decoder; only for 8, 16, 24 and 32 bits, the others it cannot write raw. */
export async function flacSamples(path: string, bits: number): Promise<Int32Array> {
  const options = ['-s', '-d', '-c', '--force-raw-format', '--endian=little', '--sign=signed', path];
  const { stdout } = await run('flac', options, AS_BYTES);
  const width = bits / 8;
  return Int32Array.from(
    { length: stdout.length / width },
    (_, i) => stdout.readIntLE(i * width, width) << (32 - bits),
  );
}

export async function ourSamples(audio: AudioFile, blockFrames = 1000): Promise<Int32Array> {
  const { channels, frames, bits } = audio.info;
  const out = new Int32Array(channels * frames);
  for await (const block of audio.blocks({ blockFrames })) {
    for (const [c, plane] of block.planes.entries()) {
      for (let i = 0; i < block.frames; i++) out[(block.start + i) * channels + c] = plane[i] << (32 - bits);
    }
  }
  return out;
}

/** Planes as interleaved samples moved up to 32 bits. */
export function interleaved32(planes: readonly Int32Array[], bits: number): Int32Array {
  return Int32Array.from(
    { length: planes.length * planes[0].length },
    (_, i) => planes[i % planes.length][Math.floor(i / planes.length)] << (32 - bits),
  );
}

function words(bytes: Buffer): Int32Array {
  return new Int32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + (bytes.length & ~3)));
}

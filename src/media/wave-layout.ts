// Decides what a WAVE file and its relatives hold: format, the span of bytes that is audio, and everything that is wrong with
// it. Each row of the malformed-file table in the standards notes (section 1.2) is settled here or in what this file calls.
import { type Problem, rate, TapeproofError } from '../base/index.ts';
import { type ChunkWalk, type FileChunk, type LayoutOptions, settleAudioChunk } from './audio-chunk.ts';
import { BEXT_MOST_BYTES, type Bext, parseBext } from './bext.ts';
import type { ByteFile } from './byte-file.ts';
import { type PcmLayout, settlePcm } from './pcm-layout.ts';
import type { TimedFile } from './take-evidence.ts';
import { FORMAT_MOST_BYTES, parseWaveFormat } from './wave-format.ts';

/** Throws `input` when there is no audio to find, `unsupported` for samples that are no integers. */
export async function findWaveLayout(file: ByteFile, walk: ChunkWalk, options: LayoutOptions = {}): Promise<PcmLayout> {
  const data = walk.chunks.find((chunk) => chunk.id === 'data');
  const fmt = walk.chunks.find((chunk) => chunk.id === 'fmt ');
  if (!fmt) throw lacks(file, walk, 'format chunk "fmt "');
  const body = await file.view(fmt.bodyAt, Math.min(fmt.bytes, FORMAT_MOST_BYTES));
  const format = parseWaveFormat(body, file.path, fmt.bodyAt);
  if (!data) throw lacks(file, walk, 'audio chunk "data"');
  const audio = settleAudioChunk(file, walk, data, format.frameBytes, 0, options);
  return settlePcm(file, {
    container: walk.container,
    channels: format.channels,
    rate: rate(format.rateHz),
    encoding: format.encoding,
    validBits: format.validBits,
    isLeftByHeader: format.isExtensible,
    dataAt: audio.dataAt,
    bytes: audio.bytes,
    problems: [
      ...walk.problems,
      ...format.problems,
      ...furtherFormats(walk, fmt),
      ...order(fmt, data),
      ...audio.problems,
    ],
    bext: await readBext(file, walk),
  });
}

/** Length and time of a file by its headers alone; undefined where they do not tell. */
export async function glanceWave(file: ByteFile, walk: ChunkWalk): Promise<TimedFile | undefined> {
  const data = walk.chunks.find((chunk) => chunk.id === 'data');
  const fmt = walk.chunks.find((chunk) => chunk.id === 'fmt ');
  const bext = await readBext(file, walk);
  if (!data || !fmt || !bext) return undefined;
  const body = await file.view(fmt.bodyAt, Math.min(fmt.bytes, FORMAT_MOST_BYTES));
  const { frameBytes, rateHz } = parseWaveFormat(body, file.path, fmt.bodyAt);
  return { frames: Math.floor(data.bytes / frameBytes), rate: rate(rateHz), bext };
}

export function lacks(file: ByteFile, walk: ChunkWalk, what: string): TapeproofError {
  return new TapeproofError('input', `the file has no ${what}`, {
    path: file.path,
    offset: walk.restAt,
    expected: what,
    found:
      walk.chunks
        .map((chunk) => `"${chunk.id}"`)
        .slice(0, 20)
        .join(', ') || 'no chunks',
    next: 'capture again, or repair a copy of the file',
  });
}

function furtherFormats(walk: ChunkWalk, fmt: FileChunk): Problem[] {
  const further = walk.chunks.filter((chunk) => chunk.id === 'fmt ' && chunk !== fmt);
  if (further.length === 0) return [];
  const message = 'the file has more than one format chunk; the first was used';
  const place = { offset: further[0].at, expected: 'one chunk "fmt "', found: `${further.length + 1}` };
  return [{ id: 'second-fmt-chunk', severity: 'warning', message, ...place }];
}

function order(fmt: FileChunk, data: FileChunk): Problem[] {
  if (fmt.at < data.at) return [];
  const message = 'the audio comes before the format chunk; many programs cannot read this file';
  return [{ id: 'data-before-fmt', severity: 'warning', message, offset: data.at }];
}

async function readBext(file: ByteFile, walk: ChunkWalk): Promise<Bext | undefined> {
  const chunk = walk.chunks.find(({ id }) => id === 'bext');
  return chunk && parseBext(await file.view(chunk.bodyAt, Math.min(chunk.bytes, BEXT_MOST_BYTES)));
}

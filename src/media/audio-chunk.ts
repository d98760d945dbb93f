// The chunk that holds the audio, whatever the container: how many of its bytes exist, what of the audio is missing, and what
// lies behind it that belongs to no chunk. The rows on sizes of the malformed-file table (standards notes 1.2) end here.
import type { Problem } from '../base/index.ts';
import type { ByteFile } from './byte-file.ts';

export interface FileChunk {
  readonly id: string;
  /** offset of the header */
  readonly at: number;
  readonly bodyAt: number;
  /** size of the body by the header, or by a table of 64-bit sizes */
  readonly claimed: number;
  /** body bytes that exist and belong to this chunk */
  readonly bytes: number;
  /** where the size was a placeholder and the body was taken to the end of the file; `open`: the format allows that */
  readonly recovered?: 'placeholder' | 'wrapped' | 'open';
}

export interface ChunkWalk {
  readonly container: 'wave' | 'rf64' | 'bw64' | 'w64' | 'aiff' | 'aifc' | 'caf';
  readonly chunks: readonly FileChunk[];
  /** first byte that belongs to no chunk; the file size when all was understood */
  readonly restAt: number;
  readonly problems: readonly Problem[];
}

export interface LayoutOptions {
  /** audio behind a data size that is too short is read, not only reported */
  readonly takeTrailing?: boolean | undefined;
}

interface AudioSpan {
  readonly dataAt: number;
  readonly bytes: number;
  readonly problems: readonly Problem[];
}

/** `skip`: bytes of the body in front of the audio. */
export function settleAudioChunk(
  file: ByteFile,
  walk: ChunkWalk,
  data: FileChunk,
  frameBytes: number,
  skip: number,
  { takeTrailing = false }: LayoutOptions,
): AudioSpan {
  const dataAt = Math.min(data.bodyAt + skip, file.size);
  const bytes = Math.max(0, data.bodyAt + data.bytes - dataAt);
  const sizes = sizeProblems(data, frameBytes, bytes);
  const further = furtherAudio(walk, data);
  const isTaken = takeTrailing && walk.chunks.at(-1) === data && walk.restAt < file.size;
  if (!isTaken) return { dataAt, bytes, problems: [...sizes, ...trailing(file, walk, data, frameBytes), ...further] };
  const all = file.size - dataAt;
  const emptied = sizes.filter(({ id }) => id !== 'data-empty');
  return { dataAt, bytes: all, problems: [...emptied, taken(dataAt + bytes, all - bytes, frameBytes), ...further] };
}

function sizeProblems(data: FileChunk, frameBytes: number, bytes: number): Problem[] {
  const place = { offset: data.at + 4, expected: `${data.bytes} bytes`, found: `${data.claimed}` };
  if (data.recovered === 'open') {
    const message =
      'the size of the audio was left open, as the format allows; all bytes to the end of the file are audio';
    return [{ id: 'size-open', severity: 'note', message, offset: data.at + 4 }];
  }
  if (data.recovered) {
    const why =
      data.recovered === 'wrapped' ? 'wrapped round at 4 GiB' : 'was never filled in, as after a loss of power';
    const message = `the size of the audio ${why}; all bytes to the end of the file were taken as audio`;
    return [{ id: 'size-recovered', severity: 'warning', message, ...place }];
  }
  if (data.claimed > data.bytes) {
    const lost = data.claimed - data.bytes;
    const message = `the file ends ${lost} bytes (${Math.ceil(lost / frameBytes)} frames) before the end of the audio`;
    const sizes = { expected: `${data.claimed} bytes of audio`, found: `${data.bytes}` };
    return [{ id: 'data-truncated', severity: 'damage', message, offset: data.bodyAt + data.bytes, ...sizes }];
  }
  if (bytes === 0)
    return [{ id: 'data-empty', severity: 'warning', message: 'the file holds no frames', offset: data.at }];
  return [];
}

/** Bytes after the last chunk that form no chunk: lost audio, unless they are fewer than one frame. */
function trailing(file: ByteFile, walk: ChunkWalk, data: FileChunk, frameBytes: number): Problem[] {
  const count = file.size - walk.restAt;
  if (count <= 0) return [];
  const frames = Math.floor(count / frameBytes);
  const mayBe = frames > 0 ? `; as audio they would be ${frames} frames` : '';
  const isBehindAudio = walk.chunks.at(-1) === data;
  const after = isBehindAudio ? 'the audio' : 'the last chunk';
  return [
    {
      // Only what follows the audio directly can be its rest.
      id: isBehindAudio ? 'trailing-data' : 'trailing-bytes',
      severity: frames > 0 ? 'damage' : 'note',
      message: `${count} bytes after ${after} belong to no chunk and were not read${mayBe}`,
      offset: walk.restAt,
      expected: 'the end of the file',
      found: `${count} bytes`,
    },
  ];
}

function taken(offset: number, bytes: number, frameBytes: number): Problem {
  const message = `${bytes} bytes (${Math.floor(bytes / frameBytes)} frames) behind the stated end of the audio were read as audio, as asked`;
  const place = { offset, expected: 'the end of the audio', found: `${bytes} bytes more` };
  return { id: 'trailing-taken', severity: 'warning', message, ...place };
}

function furtherAudio(walk: ChunkWalk, data: FileChunk): Problem[] {
  const further = walk.chunks.filter((chunk) => chunk.id === data.id && chunk !== data);
  return further.map((chunk) => ({
    id: 'second-data-chunk',
    severity: 'damage',
    message: `a further audio chunk of ${chunk.bytes} bytes was not read`,
    offset: chunk.at,
    expected: `one chunk "${data.id}"`,
    found: `${further.length + 1}`,
  }));
}

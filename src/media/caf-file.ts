// Opens CAF files with integer `lpcm`: `desc` says what the samples are, `data` holds them behind a count of edits. A size of -1
// for the audio means "to the end of the file", which is how an interrupted recording looks.
// Layout: the publisher's specification (S); that -1 is only for the last chunk (T).
import { type Problem, TapeproofError } from '../base/index.ts';
import { type ChunkWalk, type FileChunk, type LayoutOptions, settleAudioChunk } from './audio-chunk.ts';
import type { AudioFile } from './audio-file.ts';
import type { ByteFile } from './byte-file.ts';
import { rateFromFloat } from './float-rate.ts';
import type { PcmEncoding } from './pcm-encoding.ts';
import { PcmFile } from './pcm-file.ts';
import { settlePcm } from './pcm-layout.ts';
import { ascii, isPrintable } from './riff-chunks.ts';
import { lacks } from './wave-layout.ts';

const FILE_HEAD = 8;
const HEADER_BYTES = 12;
const DESC_BYTES = 32;
const EDIT_COUNT_BYTES = 4;
const MOST_CHUNKS = 4096;
/** as in WAVE, where the field has 16 bits; a count beyond it is a forgery */
const MOST_CHANNELS = 65_535;
const FLAG_FLOAT = 1;
const FLAG_LITTLE = 2;

export async function openCaf(file: ByteFile, options: LayoutOptions): Promise<AudioFile> {
  const walk = await walkCaf(file);
  const desc = walk.chunks.find(({ id }) => id === 'desc');
  const data = walk.chunks.find(({ id }) => id === 'data');
  if (!desc) throw lacks(file, walk, 'format chunk "desc"');
  const shape = await readDescription(file, desc);
  if (!data) throw lacks(file, walk, 'audio chunk "data"');
  const frameBytes = (shape.channels * shape.encoding.bits) / 8;
  const audio = settleAudioChunk(file, walk, data, frameBytes, EDIT_COUNT_BYTES, options);
  const layout = await settlePcm(file, {
    container: 'caf',
    channels: shape.channels,
    rate: shape.rate,
    encoding: shape.encoding,
    validBits: shape.bits,
    isLeftByHeader: false,
    dataAt: audio.dataAt,
    bytes: audio.bytes,
    problems: [...walk.problems, ...order(desc, data), ...audio.problems],
  });
  return new PcmFile(file, layout);
}

async function walkCaf(file: ByteFile): Promise<ChunkWalk> {
  const problems = await versionProblems(file);
  const chunks: FileChunk[] = [];
  let at = FILE_HEAD;
  while (chunks.length < MOST_CHUNKS) {
    const chunk = await chunkAt(file, at, chunks);
    if (!chunk) break;
    if (chunk.claimed > chunk.bytes && chunk.id !== 'data' && !chunk.recovered) problems.push(truncated(chunk));
    chunks.push(chunk);
    at = chunk.bodyAt + chunk.bytes;
  }
  return { container: 'caf', chunks, restAt: Math.min(at, file.size), problems };
}

async function versionProblems(file: ByteFile): Promise<Problem[]> {
  const head = await file.view(4, 2);
  const version = (head[0] << 8) | head[1];
  if (version === 1) return [];
  const message = 'a version of the container that is not known; it was read as version 1';
  return [{ id: 'caf-version', severity: 'warning', message, offset: 4, expected: '1', found: `${version}` }];
}

async function chunkAt(file: ByteFile, at: number, before: readonly FileChunk[]): Promise<FileChunk | undefined> {
  const head = await file.view(at, HEADER_BYTES);
  if (head.length < HEADER_BYTES || !isPrintable(ascii(head, 0))) return undefined;
  const id = ascii(head, 0);
  const claimed = Number(new DataView(head.buffer, head.byteOffset).getBigInt64(4));
  const bodyAt = at + HEADER_BYTES;
  const left = file.size - bodyAt;
  const hasAudio = before.some((chunk) => chunk.id === 'data');
  if (id === 'data' && !hasAudio) {
    if (claimed === -1) return { id, at, bodyAt, claimed, bytes: left, recovered: 'open' };
    const isNothing = claimed < 0 || claimed <= EDIT_COUNT_BYTES;
    if (isNothing && left > EDIT_COUNT_BYTES && !(await isChunkAfter(file, bodyAt + Math.max(0, claimed))))
      return { id, at, bodyAt, claimed: Math.max(0, claimed), bytes: left, recovered: 'placeholder' };
  }
  // Behind the audio a chunk must end inside the file, or it is audio that a wrong size left over.
  if (claimed < 0 || (hasAudio && claimed > left)) return undefined;
  return { id, at, bodyAt, claimed, bytes: Math.min(claimed, left) };
}

async function isChunkAfter(file: ByteFile, at: number): Promise<boolean> {
  const head = await file.view(at, HEADER_BYTES);
  if (head.length < HEADER_BYTES) return head.length === 0;
  const size = Number(new DataView(head.buffer, head.byteOffset).getBigInt64(4));
  return isPrintable(ascii(head, 0)) && size >= -1 && at + HEADER_BYTES + size <= file.size;
}

function truncated({ id, at, claimed, bytes }: FileChunk): Problem {
  const message = `chunk "${id}" is longer than the file`;
  const place = { offset: at, expected: `${claimed} bytes`, found: `${bytes} bytes` };
  return { id: 'chunk-truncated', severity: 'warning', message, ...place };
}

async function readDescription(file: ByteFile, desc: FileChunk) {
  const at = desc.bodyAt;
  const body = await file.view(at, Math.min(desc.bytes, DESC_BYTES));
  if (body.length < DESC_BYTES)
    throw bad(file, at, 'the format chunk is too short', `${DESC_BYTES} bytes`, `${body.length} bytes`);
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const flags = view.getUint32(12);
  requireIntegers(file, at + 8, ascii(body, 8), flags);
  const channels = view.getUint32(24);
  if (channels < 1 || channels > MOST_CHANNELS)
    throw bad(file, at + 24, 'the header says an impossible number of channels', '1 to 65535', `${channels}`);
  const bits = view.getUint32(28);
  if (bits < 1 || bits > 32) {
    const detail = { path: file.path, offset: at + 28, expected: '1 to 32 bits', found: `${bits}` };
    throw new TapeproofError('unsupported', 'word length of the samples', detail);
  }
  const width = storedBytes(file, at + 16, view.getUint32(16), view.getUint32(20), channels, bits);
  const endian = flags & FLAG_LITTLE ? 'little' : 'big';
  const encoding = { kind: 'integer', bits: width * 8, endian, isSigned: true } as PcmEncoding;
  return { channels, bits, rate: rateFromFloat(view.getFloat64(0), file.path, at), encoding };
}

function requireIntegers(file: ByteFile, offset: number, format: string, flags: number): void {
  if (format === 'lpcm' && !(flags & FLAG_FLOAT)) return;
  const found = format === 'lpcm' ? 'floating-point samples' : `"${format.replace(/[^\x20-\x7e]/g, '?')}"`;
  throw new TapeproofError('unsupported', `samples of the kind ${found}`, {
    path: file.path,
    offset,
    expected: 'integers: "lpcm" without the flag for floating point',
    found,
    next: 'give the file as the recorder wrote it; a digital copy of a tape is never compressed or computed',
  });
}

/** Bytes of one sample from the bytes of one packet, which must be one frame. */
function storedBytes(
  file: ByteFile,
  offset: number,
  packetBytes: number,
  packetFrames: number,
  channels: number,
  bits: number,
): number {
  const width = packetBytes / channels;
  if (packetFrames === 1 && Number.isInteger(width) && width * 8 >= bits && width <= 4) return width;
  const expected = `one frame of ${channels} channels with ${Math.ceil(bits / 8)} to 4 bytes each`;
  const found = `${packetBytes} bytes for ${packetFrames} frames`;
  throw bad(file, offset, 'the packets of the header are no frames of samples', expected, found);
}

function bad(file: ByteFile, offset: number, message: string, expected: string, found: string): TapeproofError {
  const next = 'capture again, or repair the header in a copy of the file';
  return new TapeproofError('input', message, { path: file.path, offset, expected, found, next });
}

function order(desc: FileChunk, data: FileChunk): Problem[] {
  if (desc.at === FILE_HEAD) return [];
  const message = 'the format chunk is not the first one, as the format demands';
  return [
    { id: desc.at < data.at ? 'fmt-not-first' : 'data-before-fmt', severity: 'warning', message, offset: desc.at },
  ];
}

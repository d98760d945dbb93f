// Decides what a WAVE file holds: format, the span of bytes that is audio, and everything that is wrong with it.
// Each row of the malformed-file table in the standards notes (section 1.2) is settled here or in riff-chunks.
import { type Problem, rate, TapeproofError } from '../base/index.ts';
import type { MediaInfo } from './audio-file.ts';
import { BEXT_MOST_BYTES, type Bext, parseBext } from './bext.ts';
import type { ByteFile } from './byte-file.ts';
import { checkJustification } from './justification.ts';
import { type RiffChunk, type RiffWalk, walkRiff } from './riff-chunks.ts';
import { FORMAT_MOST_BYTES, parseWaveFormat, type WaveFormat } from './wave-format.ts';

export interface WaveLayout {
  readonly info: MediaInfo;
  readonly format: WaveFormat;
  readonly dataAt: number;
  /** whole frames only */
  readonly dataBytes: number;
}

/** Throws `input` when there is no audio to find, `unsupported` for samples that are not integer PCM. */
export async function findWaveLayout(file: ByteFile): Promise<WaveLayout> {
  const walk = await walkRiff(file);
  const data = walk.chunks.find((chunk) => chunk.id === 'data');
  const fmt = walk.chunks.find((chunk) => chunk.id === 'fmt ');
  if (!fmt) throw lacks(file, walk, 'format chunk "fmt "');
  const body = await file.view(fmt.bodyAt, Math.min(fmt.bytes, FORMAT_MOST_BYTES));
  const format = parseWaveFormat(body, file.path, fmt.bodyAt);
  if (!data) throw lacks(file, walk, 'audio chunk "data"');
  const frames = Math.floor(data.bytes / format.frameBytes);
  const missing = [
    ...sizeProblems(data, format),
    ...partialFrame(data, format),
    ...trailing(file, walk, data, format),
    ...furtherData(walk, data),
  ];
  const problems = [
    ...walk.problems,
    ...format.problems,
    ...order(fmt, data),
    ...missing,
    ...(await checkJustification(file, format, data.bodyAt, frames)),
  ];
  const bext = await readBext(file, walk);
  const info: MediaInfo = {
    name: file.name,
    channels: format.channels,
    frames,
    rate: rate(format.rateHz),
    bits: format.containerBits,
    container: walk.container,
    containerBits: format.containerBits,
    headerBits: format.validBits,
    readAs: missing.some((problem) => LOSES_AUDIO.has(problem.id) && problem.severity !== 'note') ? 'partial' : 'whole',
    problems,
    fileBytes: file.size,
    ...(bext ? { bext } : {}),
  };
  return { info, format, dataAt: data.bodyAt, dataBytes: frames * format.frameBytes };
}

const LOSES_AUDIO = new Set(['data-truncated', 'partial-frame', 'trailing-data', 'second-data-chunk']);

function lacks(file: ByteFile, walk: RiffWalk, what: string): TapeproofError {
  return new TapeproofError('input', `the file has no ${what}`, {
    path: file.path,
    offset: walk.restAt,
    expected: what,
    found: walk.chunks.map((chunk) => `"${chunk.id}"`).join(', ') || 'no chunks',
    next: 'capture again, or repair a copy of the file',
  });
}

function order(fmt: RiffChunk, data: RiffChunk): Problem[] {
  if (fmt.at < data.at) return [];
  const message = 'the audio comes before the format chunk; many programs cannot read this file';
  return [{ id: 'data-before-fmt', severity: 'warning', message, offset: data.at }];
}

function sizeProblems(data: RiffChunk, format: WaveFormat): Problem[] {
  const place = { offset: data.at + 4, expected: `${data.bytes} bytes`, found: `${data.claimed}` };
  if (data.recovered) {
    const why =
      data.recovered === 'wrapped' ? 'wrapped round at 4 GiB' : 'was never filled in, as after a loss of power';
    const message = `the size of the audio ${why}; all bytes to the end of the file were taken as audio`;
    return [{ id: 'size-recovered', severity: 'warning', message, ...place }];
  }
  if (data.claimed > data.bytes) {
    const lost = data.claimed - data.bytes;
    const message = `the file ends ${lost} bytes (${Math.ceil(lost / format.frameBytes)} frames) before the end of the audio`;
    const sizes = { expected: `${data.claimed} bytes of audio`, found: `${data.bytes}` };
    return [{ id: 'data-truncated', severity: 'damage', message, offset: data.bodyAt + data.bytes, ...sizes }];
  }
  if (data.bytes === 0)
    return [{ id: 'data-empty', severity: 'warning', message: 'the file holds no frames', offset: data.at }];
  return [];
}

function partialFrame(data: RiffChunk, format: WaveFormat): Problem[] {
  const over = data.bytes % format.frameBytes;
  if (over === 0) return [];
  return [
    {
      id: 'partial-frame',
      severity: 'damage',
      message: `the audio ends inside a frame: ${over} bytes were left out`,
      offset: data.bodyAt + data.bytes - over,
      expected: `a multiple of ${format.frameBytes} bytes`,
      found: `${data.bytes}`,
    },
  ];
}

/** Bytes after the last chunk that form no chunk: lost audio, unless they are fewer than one frame. */
function trailing(file: ByteFile, walk: RiffWalk, data: RiffChunk, format: WaveFormat): Problem[] {
  const count = file.size - walk.restAt;
  if (count <= 0) return [];
  const frames = Math.floor(count / format.frameBytes);
  const mayBe = frames > 0 ? `; as audio they would be ${frames} frames` : '';
  const after = walk.chunks.at(-1) === data ? 'the audio' : 'the last chunk';
  return [
    {
      id: 'trailing-data',
      severity: frames > 0 ? 'damage' : 'note',
      message: `${count} bytes after ${after} belong to no chunk and were not read${mayBe}`,
      offset: walk.restAt,
      expected: 'the end of the file',
      found: `${count} bytes`,
    },
  ];
}

function furtherData(walk: RiffWalk, data: RiffChunk): Problem[] {
  const further = walk.chunks.filter((chunk) => chunk.id === 'data' && chunk !== data);
  return further.map((chunk) => ({
    id: 'second-data-chunk',
    severity: 'damage',
    message: `a further audio chunk of ${chunk.bytes} bytes was not read`,
    offset: chunk.at,
    expected: 'one chunk "data"',
    found: `${further.length + 1}`,
  }));
}

async function readBext(file: ByteFile, walk: RiffWalk): Promise<Bext | undefined> {
  const chunk = walk.chunks.find(({ id }) => id === 'bext');
  return chunk && parseBext(await file.view(chunk.bodyAt, Math.min(chunk.bytes, BEXT_MOST_BYTES)));
}

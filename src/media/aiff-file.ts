// Opens AIFF and AIFC files with integer samples: `COMM` says what they are, `SSND` holds them. Compressed AIFC is refused by name.
// Layout: the publisher's references of AIFF 1.3 and AIFF-C (S).
import { type Problem, TapeproofError } from '../base/index.ts';
import { type ChunkWalk, type FileChunk, type LayoutOptions, settleAudioChunk } from './audio-chunk.ts';
import type { AudioFile } from './audio-file.ts';
import type { ByteFile } from './byte-file.ts';
import { float80, rateFromFloat } from './float-rate.ts';
import type { PcmEncoding } from './pcm-encoding.ts';
import { PcmFile } from './pcm-file.ts';
import { settlePcm } from './pcm-layout.ts';
import { ascii, walkRiff } from './riff-chunks.ts';
import { lacks } from './wave-layout.ts';

/** offset and block size in front of the audio */
const SSND_HEAD = 8;
const COMM_BYTES = 18;
/** AIFC compression ids that are plain integers, and their byte order */
const ORDERS: Record<string, PcmEncoding['endian'] | undefined> = { NONE: 'big', twos: 'big', sowt: 'little' };

export async function openAiff(file: ByteFile, options: LayoutOptions): Promise<AudioFile> {
  const walk = await walkRiff(file);
  const common = walk.chunks.find(({ id }) => id === 'COMM');
  const sound = walk.chunks.find(({ id }) => id === 'SSND');
  if (!common) throw lacks(file, walk, 'format chunk "COMM"');
  const shape = await readCommon(file, common, walk.container === 'aifc');
  if (!sound) throw lacks(file, walk, 'audio chunk "SSND"');
  const frameBytes = (shape.channels * shape.encoding.bits) / 8;
  const skip = SSND_HEAD + (await soundOffset(file, sound));
  const audio = settleAudioChunk(file, walk, sound, frameBytes, skip, options);
  const layout = await settlePcm(file, {
    container: walk.container,
    channels: shape.channels,
    rate: shape.rate,
    encoding: shape.encoding,
    validBits: shape.bits,
    isLeftByHeader: true,
    dataAt: audio.dataAt,
    bytes: audio.bytes,
    problems: [
      ...walk.problems,
      ...order(walk, common, sound),
      ...audio.problems,
      ...frameProblems(shape.frames, Math.floor(audio.bytes / frameBytes), common, audio.problems),
    ],
  });
  return new PcmFile(file, layout);
}

async function readCommon(file: ByteFile, common: FileChunk, isAifc: boolean) {
  const body = await file.view(common.bodyAt, Math.min(common.bytes, COMM_BYTES + 4));
  const at = common.bodyAt;
  if (body.length < COMM_BYTES + (isAifc ? 4 : 0))
    throw bad(file, at, 'the format chunk is too short', `${COMM_BYTES + (isAifc ? 4 : 0)} bytes`, `${body.length}`);
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const channels = view.getInt16(0);
  if (channels < 1) throw bad(file, at, 'the header says an impossible number of channels', '1 or more', `${channels}`);
  const bits = view.getInt16(6);
  if (bits < 1 || bits > 32) {
    const detail = { path: file.path, offset: at + 6, expected: '1 to 32 bits', found: `${bits}` };
    throw new TapeproofError('unsupported', 'word length of the samples', detail);
  }
  const endian = isAifc ? byteOrder(file, ascii(body, COMM_BYTES), at + COMM_BYTES) : 'big';
  const encoding = { kind: 'integer', bits: Math.ceil(bits / 8) * 8, endian, isSigned: true } as PcmEncoding;
  return {
    channels,
    bits,
    frames: view.getUint32(2),
    rate: rateFromFloat(float80(body, 8), file.path, at + 8),
    encoding,
  };
}

function byteOrder(file: ByteFile, compression: string, offset: number): PcmEncoding['endian'] {
  const order = ORDERS[compression];
  if (order) return order;
  throw new TapeproofError('unsupported', `samples of the kind "${printable(compression)}"`, {
    path: file.path,
    offset,
    expected: 'integers: "NONE", "twos" or "sowt"',
    found: `"${printable(compression)}"`,
    next: 'give the file as the recorder wrote it; a digital copy of a tape is never compressed',
  });
}

function printable(text: string): string {
  return text.replace(/[^\x20-\x7e]/g, '?');
}

function bad(file: ByteFile, offset: number, message: string, expected: string, found: string): TapeproofError {
  const next = 'capture again, or repair the header in a copy of the file';
  return new TapeproofError('input', message, { path: file.path, offset, expected, found, next });
}

async function soundOffset(file: ByteFile, sound: FileChunk): Promise<number> {
  const head = await file.view(sound.bodyAt, 4);
  return head.length < 4 ? 0 : new DataView(head.buffer, head.byteOffset).getUint32(0);
}

function order(walk: ChunkWalk, common: FileChunk, sound: FileChunk): Problem[] {
  const problems: Problem[] = [];
  if (sound.at < common.at) {
    const message = 'the audio comes before the format chunk; some programs cannot read this file';
    problems.push({ id: 'data-before-fmt', severity: 'note', message, offset: sound.at });
  }
  const further = walk.chunks.filter((chunk) => chunk.id === 'COMM' && chunk !== common);
  if (further.length > 0) {
    const message = 'the file has more than one format chunk; the first was used';
    problems.push({ id: 'second-fmt-chunk', severity: 'warning', message, offset: further[0].at });
  }
  return problems;
}

/** `COMM` counts frames too. What the file holds was read; more promised than held is damage unless it is already told. */
function frameProblems(claimed: number, held: number, common: FileChunk, told: readonly Problem[]): Problem[] {
  const isTold = told.some(({ id }) => id === 'data-truncated' || id.startsWith('trailing-'));
  const isLoss = claimed > held;
  if (claimed === held || (isLoss && isTold)) return [];
  const message = isLoss
    ? `the header promises ${claimed - held} frames more than the audio chunk holds`
    : 'the number of frames in the header contradicts the audio; what is there was read';
  const place = { offset: common.bodyAt + 2, expected: `${held} frames`, found: `${claimed}` };
  return [
    {
      id: isLoss ? 'frames-contradiction' : 'frames-wrong',
      severity: isLoss ? 'damage' : 'warning',
      message,
      ...place,
    },
  ];
}

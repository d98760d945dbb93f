// The metadata of a FLAC file (RFC 9639 section 8): STREAMINFO, and where the audio frames begin. Other blocks are skipped.
import { type Problem, TapeproofError } from '../base/index.ts';
import type { ByteFile } from './byte-file.ts';

export interface FlacStreamInfo {
  readonly maxBlock: number;
  /** 0 = unknown */
  readonly maxFrameBytes: number;
  readonly rateHz: number;
  readonly channels: number;
  readonly bits: number;
  /** 0 = unknown */
  readonly frames: number;
  /** of the interleaved samples; undefined = not set by the encoder */
  readonly md5: string | undefined;
}

export interface FlacMetadata {
  readonly streamInfo: FlacStreamInfo;
  readonly streamInfoAt: number;
  /** where the first frame should be */
  readonly audioAt: number;
  readonly problems: readonly Problem[];
}

const STREAMINFO_BYTES = 34;
const MOST_BLOCKS = 4096;

/** Whether the file begins as FLAC, perhaps behind an ID3v2 tag. */
export async function findFlac(file: ByteFile): Promise<number | undefined> {
  const head = await file.view(0, 10);
  const isTagged = head.length === 10 && ascii(head, 0, 3) === 'ID3';
  // ID3v2: seven bits per byte, without the ten bytes of its header (id3.org, v2.4 section 3.1)
  const at = isTagged ? 10 + ((head[6] << 21) | (head[7] << 14) | (head[8] << 7) | head[9]) : 0;
  return ascii(await file.view(at, 4), 0, 4) === 'fLaC' ? at : undefined;
}

/** `at` is the offset of "fLaC". Throws `input` when STREAMINFO is missing or impossible. */
export async function readFlacMetadata(file: ByteFile, at: number): Promise<FlacMetadata> {
  const head = await file.view(at + 4, 4 + STREAMINFO_BYTES);
  const length = (head[1] << 16) | (head[2] << 8) | head[3];
  if (head.length < 4 + STREAMINFO_BYTES || (head[0] & 0x7f) !== 0 || length < STREAMINFO_BYTES)
    throw noStreamInfo(file, at + 4);
  const streamInfo = parseStreamInfo(head.subarray(4));
  if (streamInfo.rateHz === 0 || streamInfo.bits < 4) throw noStreamInfo(file, at + 8);
  const after = at + 8 + length;
  const blocks = head[0] & 0x80 ? { audioAt: after, problems: [] } : await skipBlocks(file, after);
  const problems = [...wrongLength(length, at + 5), ...blocks.problems];
  return { streamInfo, streamInfoAt: at + 8, audioAt: blocks.audioAt, problems };
}

function wrongLength(length: number, offset: number): Problem[] {
  if (length === STREAMINFO_BYTES) return [];
  const message = 'the first block of metadata states a wrong length; the audio was searched for';
  const place = { offset, expected: `${STREAMINFO_BYTES} bytes`, found: `${length}` };
  return [{ id: 'metadata-damaged', severity: 'warning', message, ...place }];
}

function noStreamInfo(file: ByteFile, offset: number): TapeproofError {
  const expected = 'a STREAMINFO block with a rate above 0 and 4 to 32 bits per sample';
  const next = 'look for another copy of the file';
  return new TapeproofError('input', 'the FLAC file does not say what it holds', {
    path: file.path,
    offset,
    expected,
    next,
  });
}

/** RFC 9639 section 8.2 */
function parseStreamInfo(body: Uint8Array): FlacStreamInfo {
  const md5 = Buffer.from(body.subarray(18, 34)).toString('hex');
  return {
    maxBlock: (body[2] << 8) | body[3],
    maxFrameBytes: (body[7] << 16) | (body[8] << 8) | body[9],
    rateHz: (body[10] << 12) | (body[11] << 4) | (body[12] >> 4),
    channels: ((body[12] >> 1) & 7) + 1,
    bits: (((body[12] & 1) << 4) | (body[13] >> 4)) + 1,
    frames: (body[13] & 15) * 2 ** 32 + (((body[14] << 24) | (body[15] << 16) | (body[16] << 8) | body[17]) >>> 0),
    md5: /^0+$/.test(md5) ? undefined : md5,
  };
}

/** When the blocks stop making sense any of them may have lied: the first frame is then searched for from the start. */
async function skipBlocks(file: ByteFile, from: number): Promise<Pick<FlacMetadata, 'audioAt' | 'problems'>> {
  let at = from;
  for (let count = 0; count < MOST_BLOCKS; count++) {
    const head = await file.view(at, 4);
    const end = at + 4 + ((head[1] << 16) | (head[2] << 8) | head[3]);
    if (head.length < 4 || (head[0] & 0x7f) === 0x7f || end > file.size) break;
    if (head[0] & 0x80) return { audioAt: end, problems: [] };
    at = end;
  }
  const message = 'the metadata blocks do not end properly; the audio was searched for';
  return { audioAt: from, problems: [{ id: 'metadata-damaged', severity: 'warning', message, offset: at }] };
}

function ascii(bytes: Uint8Array, from: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(from, from + length));
}

// Finds out what a FLAC file really holds: the shape of its frames from the first good one and the number of frames from
// the last good one, because STREAMINFO may be wrong, unknown or promise more than the file has.
import { type Problem, TapeproofError } from '../base/index.ts';
import type { ByteFile } from './byte-file.ts';
import { ByteFeed } from './flac-feed.ts';
import { FlacFrameDecoder } from './flac-frame.ts';
import { FlacFrames, type FlacShape, positionOf } from './flac-frames.ts';
import { type FlacFrameHeader, parseFlacHeader } from './flac-header.ts';
import { type FlacMetadata, type FlacStreamInfo, readFlacMetadata } from './flac-metadata.ts';
import { FlacPatience } from './flac-patience.ts';
import { FLAC_MARGIN_BYTES, FlacFault } from './flac-subframe.ts';

export interface FlacLayout {
  readonly shape: FlacShape;
  readonly audioAt: number;
  readonly frames: number;
  readonly md5: string | undefined;
  readonly problems: readonly Problem[];
}

interface FoundFrame {
  readonly offset: number;
  readonly length: number;
  readonly header: FlacFrameHeader;
}

const TAIL_BYTES = 1024 * 1024;
const SEARCH_BYTES = 4 * 1024 * 1024;
/** Bits of the largest possible frame that is stored verbatim, in bytes, doubled for odd encoders. */
const MOST_VERBATIM_BYTES = 2 * 65_536 * 8 * 5;
/** Frame header, one constant subframe and the CRC take no less. */
const LEAST_FRAME_BYTES = 10;

/** `flacAt` is the offset of "fLaC". Throws `input` when there is no frame that can be decoded. */
export async function findFlacLayout(file: ByteFile, flacAt: number): Promise<FlacLayout> {
  const metadata = await readFlacMetadata(file, flacAt);
  const first = await findFirst(file, metadata);
  const shape = shapeOf(first, metadata);
  const audioAt = Math.min(metadata.audioAt, first.offset);
  const found = await measure(file, shape, first, { ...metadata, audioAt });
  const problems = [
    ...metadata.problems,
    ...contradictions(shape, metadata),
    ...totalProblems(found, metadata.streamInfo, metadata.streamInfoAt),
  ];
  return { shape, audioAt, frames: found.frames, md5: metadata.streamInfo.md5, problems };
}

async function findFirst(file: ByteFile, metadata: FlacMetadata): Promise<FoundFrame> {
  const { audioAt, streamInfoAt, streamInfo } = metadata;
  const found = await searchFrame(file, audioAt, streamInfo.bits);
  if (found && (found.offset === audioAt || found.header.number === 0)) return found;
  // A block of metadata that states too great a length hides the beginning.
  const earlier = await searchFrame(file, streamInfoAt + 34, streamInfo.bits);
  if (earlier) return earlier;
  if (found) return found;
  throw new TapeproofError('input', 'the FLAC file holds no frame that can be decoded', {
    path: file.path,
    offset: audioAt,
    expected: 'a frame with right checksums',
    found: `${file.size - audioAt} bytes without one`,
    next: 'look for another copy of the file',
  });
}

async function searchFrame(file: ByteFile, from: number, streamBits: number): Promise<FoundFrame | undefined> {
  const bytes = await padded(file, from, SEARCH_BYTES);
  const decoder = new FlacFrameDecoder();
  const patience = new FlacPatience();
  for (let at = bytes.indexOf(0xff); at >= 0; ) {
    decoder.cost = 0;
    const found = tryFrame(decoder, bytes, at, streamBits, from);
    if (found) return found;
    at = bytes.indexOf(0xff, at + patience.step(at, decoder.cost));
  }
  return undefined;
}

/** A copy of up to `length` bytes with the margin that decoding needs. */
async function padded(file: ByteFile, from: number, length: number): Promise<Uint8Array> {
  const count = Math.max(0, Math.min(length, file.size - from));
  const bytes = new Uint8Array(count + FLAC_MARGIN_BYTES);
  await file.readInto(bytes.subarray(0, count), from);
  return bytes;
}

/** One decoder for all attempts: each new one would take memory for the largest block again. */
function tryFrame(
  decoder: FlacFrameDecoder,
  bytes: Uint8Array,
  at: number,
  streamBits: number,
  base: number,
): FoundFrame | undefined {
  const end = bytes.length - FLAC_MARGIN_BYTES;
  const header = parseFlacHeader(bytes, at, end);
  if (!header) return undefined;
  try {
    const length = decoder.decode(bytes, at, end, header, header.bits || streamBits);
    return { offset: base + at, length, header };
  } catch (fault) {
    if (fault instanceof FlacFault) return undefined;
    throw fault;
  }
}

function shapeOf({ header, offset }: FoundFrame, { audioAt, streamInfo }: FlacMetadata): FlacShape {
  const isFirst = header.number === 0 || streamInfo.maxBlock < 16;
  const nominalBlock = isFirst ? header.blockSize : streamInfo.maxBlock;
  return {
    channels: header.channels,
    bits: header.bits || streamInfo.bits,
    rateHz: header.rateHz || streamInfo.rateHz,
    isVariable: header.isVariable,
    nominalBlock,
    // A stream cut from a longer one begins right after the metadata with a later number.
    firstSample: offset === audioAt ? header.number * (header.isVariable ? 1 : nominalBlock) : 0,
    maxBlock: streamInfo.maxBlock,
  };
}

function contradictions(shape: FlacShape, { streamInfo, streamInfoAt }: FlacMetadata): Problem[] {
  const text = (one: { channels: number; bits: number; rateHz: number }) =>
    `${one.channels} channels, ${one.bits} bits, ${one.rateHz} Hz`;
  if (text(shape) === text(streamInfo)) return [];
  const message = 'the header of the file contradicts its frames; the frames were trusted';
  const place = { offset: streamInfoAt, expected: text(shape), found: text(streamInfo) };
  return [{ id: 'streaminfo-contradiction', severity: 'warning', message, ...place }];
}

interface Measured {
  readonly frames: number;
  /** of `frames`, those up to the end of the last good frame */
  readonly good: number;
  readonly goodEnd: number;
}

/** Frames in the stream: from the last good frame near the end, or by decoding everything when there is none. */
async function measure(file: ByteFile, shape: FlacShape, first: FoundFrame, metadata: FlacMetadata): Promise<Measured> {
  const most = Math.ceil((file.size - first.offset) / LEAST_FRAME_BYTES) * 65_535;
  const last =
    (await findLast(file, shape, first, most)) ?? (await lastByDecoding(file, shape, metadata.audioAt, most));
  const { frames: claimed } = metadata.streamInfo;
  const lost = claimed - last.good;
  // No more than one frame is missing, and there are bytes where it should be: it is damaged, not cut off.
  const isLastDamaged = lost > 0 && lost <= shape.nominalBlock && last.goodEnd < file.size;
  return { ...last, frames: isLastDamaged ? claimed : last.good };
}

async function findLast(file: ByteFile, shape: FlacShape, first: FoundFrame, most: number) {
  const decoder = new FlacFrameDecoder();
  for (const length of [TAIL_BYTES, MOST_VERBATIM_BYTES]) {
    const from = Math.max(first.offset, file.size - length);
    const bytes = await padded(file, from, length);
    const end = bytes.length - FLAC_MARGIN_BYTES - 1;
    const patience = new FlacPatience();
    const before = (at: number) => (at < 0 ? -1 : bytes.lastIndexOf(0xff, at));
    for (let at = before(end), step = 1; at >= 0; at = before(at - step)) {
      step = 1;
      const header = parseFlacHeader(bytes, at, bytes.length - FLAC_MARGIN_BYTES);
      const start = header && positionOf(header, shape);
      if (!header || start === undefined || start < 0 || start + header.blockSize > most) continue;
      const found = tryFrame(decoder, bytes, at, shape.bits, from);
      step = patience.step(at, decoder.cost);
      if (found) return { good: start + header.blockSize, goodEnd: found.offset + found.length };
    }
    if (from === first.offset) break;
  }
  return undefined;
}

async function lastByDecoding(file: ByteFile, shape: FlacShape, audioAt: number, most: number) {
  const feed = new ByteFeed(file.stream(audioAt, file.size, TAIL_BYTES), audioAt);
  const frames = new FlacFrames(feed, shape, 0, most);
  let last = { good: 0, goodEnd: audioAt };
  for (let piece = await frames.next(); piece; piece = await frames.next()) {
    if (piece.planes) last = { good: piece.start + piece.frames, goodEnd: feed.offset };
  }
  return last;
}

function totalProblems(found: Measured, { frames: claimed }: FlacStreamInfo, streamInfoAt: number): Problem[] {
  if (claimed === found.good) return [];
  if (claimed === 0) {
    const message = 'the header does not say how many frames there are; they were counted';
    return [{ id: 'total-unknown', severity: 'note', message, offset: streamInfoAt + 13, found: '0' }];
  }
  const place = { expected: `${claimed} frames`, found: `${found.good}` };
  if (claimed < found.good) {
    const message = 'the file holds more frames than its header says; all were read';
    return [{ id: 'total-wrong', severity: 'warning', message, offset: streamInfoAt + 13, ...place }];
  }
  const message =
    found.frames === claimed
      ? `the last frame is damaged: ${claimed - found.good} frames were replaced by zeros`
      : `the file ends ${claimed - found.good} frames before the end of the audio`;
  const id = found.frames === claimed ? 'frame-damaged' : 'data-truncated';
  return [{ id, severity: 'damage', message, offset: found.goodEnd, ...place }];
}

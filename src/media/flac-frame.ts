// Decodes one whole FLAC frame to planes of integers and checks everything it can: CRC, padding, range of the samples.
import { crc16, crc16Tables } from './flac-crc.ts';
import type { FlacFrameHeader } from './flac-header.ts';
import { FlacFault, SubframeReader } from './flac-subframe.ts';

/** Filling this many samples takes about as long as decoding one byte. */
const SAMPLES_PER_BYTE = 256;

export class FlacFrameDecoder {
  /** the last decoded frame; valid up to its block size, until the next call */
  planes: Int32Array[] = [];
  /** of the last call: about the bytes that were decoded, long constant stretches counting by their samples */
  cost = 0;
  readonly #tables = crc16Tables();
  readonly #reader = new SubframeReader();
  #work: Float64Array[] = [];

  /**
   * The frame with this header at bytes[at]. Returns its length in bytes. Throws FlacFault, `isShort` when the frame may
   * go on behind `end`. `bits`: bits per sample of the stream.
   */
  decode(bytes: Uint8Array, at: number, end: number, header: FlacFrameHeader, bits: number): number {
    this.#prepare(header.channels, header.blockSize);
    const reader = this.#reader;
    reader.aim(bytes, at + header.length, end);
    const work = this.#work.map((channel) => channel.subarray(0, header.blockSize));
    try {
      for (const [c, channel] of work.entries()) reader.read(channel, bits + (isSide(header, c) ? 1 : 0));
    } finally {
      this.cost = reader.position / 8 - at + (header.blockSize * header.channels) / SAMPLES_PER_BYTE;
    }
    const last = Math.ceil(reader.position / 8) + 2;
    if (last > end) throw new FlacFault('the frame is cut', true);
    if (crc16(this.#tables, bytes, at, last) !== 0) throw new FlacFault('the checksum of the frame is wrong');
    undoStereo(work, header);
    for (const [c, channel] of work.entries()) {
      if (!toIntegers(channel, this.planes[c], bits)) throw new FlacFault('a sample exceeds the word length');
    }
    return last - at;
  }

  #prepare(channels: number, blockSize: number): void {
    if (this.#work.length === channels && this.#work[0].length >= blockSize) return;
    this.#work = Array.from({ length: channels }, () => new Float64Array(blockSize));
    this.planes = Array.from({ length: channels }, () => new Int32Array(blockSize));
  }
}

function isSide(header: FlacFrameHeader, channel: number): boolean {
  if (header.stereo === 'side-right') return channel === 0;
  return header.stereo !== 'independent' && channel === 1;
}

/** RFC 9639 section 4.2 */
function undoStereo([a, b]: Float64Array[], header: FlacFrameHeader): void {
  const length = header.blockSize;
  if (header.stereo === 'left-side') for (let i = 0; i < length; i++) b[i] = a[i] - b[i];
  else if (header.stereo === 'side-right') for (let i = 0; i < length; i++) a[i] += b[i];
  else if (header.stereo === 'mid-side') {
    for (let i = 0; i < length; i++) {
      const side = b[i];
      const sum = 2 * a[i] + (side & 1);
      a[i] = (sum + side) / 2;
      b[i] = (sum - side) / 2;
    }
  }
}

/** False when a value is no integer of `bits` bits. */
function toIntegers(from: Float64Array, to: Int32Array, bits: number): boolean {
  const top = 2 ** (bits - 1);
  let isFitting = true;
  for (let i = 0; i < from.length; i++) {
    const value = from[i];
    if (!(value >= -top && value < top)) isFitting = false;
    to[i] = value;
  }
  return isFitting;
}

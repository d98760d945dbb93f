// Builds the header of the WAVE and RF64 files this product writes; always the same length for the same format, so that it
// can be written again over its first version when the sizes are known. Not for reading: see wave-format and riff-chunks.

export interface WaveShape {
  readonly channels: number;
  readonly rateHz: number;
  readonly bits: 16 | 24 | 32;
  /** at most `bits`; the samples are left-justified then, as extensible WAVE demands */
  readonly validBits: number;
  /** body of a `bext` chunk, of even length */
  readonly bext?: Uint8Array | undefined;
}

/** A chunk that stands behind the audio. */
export interface WaveChunk {
  /** four letters */
  readonly id: string;
  readonly body: Uint8Array;
}

/** The chunks with their headers, each padded to an even length. */
export function chunksBytes(chunks: readonly WaveChunk[]): Uint8Array {
  return Buffer.concat(
    chunks.map(({ id, body }) => {
      const bytes = Buffer.alloc(8 + body.length + (body.length % 2));
      bytes.write(id, 0, 'latin1');
      bytes.writeUInt32LE(body.length, 4);
      bytes.set(body, 8);
      return bytes;
    }),
  );
}

/** ds64 body: riffSize, dataSize, sampleCount (u64 each) and an empty table (EBU Tech 3306). */
const DS64_BODY = 28;
const INTEGER_PCM_SUBFORMAT = '0100000000001000800000aa00389b71';
/** Largest size a 32-bit field can hold without being the mark of RF64. */
const MOST_32 = 0xfffffffe;

/** Whether plain WAVE tag 1 describes the shape fully: 16 bits, all valid, at most two channels. */
function isPlain(shape: WaveShape): boolean {
  return shape.bits === 16 && shape.validBits === 16 && shape.channels <= 2;
}

export function waveHeaderBytes(shape: WaveShape): number {
  return 12 + 8 + DS64_BODY + bextBytes(shape) + 8 + (isPlain(shape) ? 16 : 40) + 8;
}

function bextBytes({ bext }: WaveShape): number {
  return bext ? 8 + bext.length : 0;
}

export function needsRf64(shape: WaveShape, dataBytes: number, behindBytes = 0): boolean {
  return waveHeaderBytes(shape) - 8 + dataBytes + (dataBytes % 2) + behindBytes > MOST_32;
}

/** `dataBytes` excludes the pad byte; `behindBytes` are chunks after the audio. The room of ds64 is a JUNK chunk in a plain WAVE. */
export function buildWaveHeader(shape: WaveShape, dataBytes: number, isRf64: boolean, behindBytes = 0): Uint8Array {
  const header = Buffer.alloc(waveHeaderBytes(shape));
  const riffBytes = header.length - 8 + dataBytes + (dataBytes % 2) + behindBytes;
  const frameBytes = (shape.channels * shape.bits) / 8;
  header.write(isRf64 ? 'RF64' : 'RIFF', 0, 'latin1');
  header.writeUInt32LE(isRf64 ? 0xffffffff : riffBytes, 4);
  header.write(isRf64 ? 'WAVEds64' : 'WAVEJUNK', 8, 'latin1');
  header.writeUInt32LE(DS64_BODY, 16);
  if (isRf64) {
    header.writeBigUInt64LE(BigInt(riffBytes), 20);
    header.writeBigUInt64LE(BigInt(dataBytes), 28);
    header.writeBigUInt64LE(BigInt(dataBytes / frameBytes), 36);
  }
  if (shape.bext) {
    header.write('bext', 20 + DS64_BODY, 'latin1');
    header.writeUInt32LE(shape.bext.length, 24 + DS64_BODY);
    header.set(shape.bext, 28 + DS64_BODY);
  }
  writeFormat(header, 20 + DS64_BODY + bextBytes(shape), shape, frameBytes);
  header.write('data', header.length - 8, 'latin1');
  header.writeUInt32LE(isRf64 ? 0xffffffff : dataBytes, header.length - 4);
  return header;
}

function writeFormat(header: Buffer, at: number, shape: WaveShape, frameBytes: number): void {
  const plain = isPlain(shape);
  header.write('fmt ', at, 'latin1');
  header.writeUInt32LE(plain ? 16 : 40, at + 4);
  header.writeUInt16LE(plain ? 0x0001 : 0xfffe, at + 8);
  header.writeUInt16LE(shape.channels, at + 10);
  header.writeUInt32LE(shape.rateHz, at + 12);
  // A claim nobody reads: rates and channels beyond its 32 bits leave it at the largest value.
  header.writeUInt32LE(Math.min(shape.rateHz * frameBytes, 0xffffffff), at + 16);
  header.writeUInt16LE(frameBytes, at + 20);
  header.writeUInt16LE(shape.bits, at + 22);
  if (plain) return;
  header.writeUInt16LE(22, at + 24);
  header.writeUInt16LE(shape.validBits, at + 26);
  header.writeUInt32LE(channelMask(shape.channels), at + 28);
  header.write(INTEGER_PCM_SUBFORMAT, at + 32, 'hex');
}

/**
 * One channel is the front centre and two are front left and right, as every player assumes. From three channels on the
 * mask is 0, "no speaker assignment": the channels of a multitrack tape have no place in a room, and a mask that guessed
 * one would make players mix or drop channels.
 */
function channelMask(channels: number): number {
  return channels === 1 ? 0x4 : channels === 2 ? 0x3 : 0;
}

// Builds AIFF, CAF and W64 files byte by byte for tests, right or wrong on purpose; shares nothing with the readers.
import { pcmBytes } from './wave-bytes.ts';

/** Interleaved big-endian signed bytes. */
export function bigEndianBytes(planes: readonly Int32Array[], containerBits: number, shift = 0): Buffer {
  const width = containerBits / 8;
  const bytes = Buffer.alloc(planes.length * planes[0].length * width);
  for (const [c, plane] of planes.entries())
    for (const [i, sample] of plane.entries())
      bytes.writeIntBE(sample << shift, (i * planes.length + c) * width, width);
  return bytes;
}

export function iffChunk(id: string, body: Uint8Array, size = body.length): Buffer {
  const head = Buffer.alloc(8);
  head.write(id, 'latin1');
  head.writeUInt32BE(size, 4);
  return Buffer.concat([head, body, Buffer.alloc(body.length % 2)]);
}

export function form(chunks: readonly Uint8Array[], kind = 'AIFF', size?: number): Buffer {
  const body = Buffer.concat([Buffer.from(kind, 'latin1'), ...chunks]);
  return iffChunk('FORM', body, size ?? body.length);
}

/** A whole number of hertz as 80-bit extended precision. */
export function float80Of(hz: number): Buffer {
  const out = Buffer.alloc(10);
  const exponent = Math.floor(Math.log2(hz));
  out.writeUInt16BE(16_383 + exponent, 0);
  out.writeBigUInt64BE(BigInt(hz) << BigInt(63 - exponent), 2);
  return out;
}

export interface CommonFields {
  channels?: number;
  frames?: number;
  bits?: number;
  rate?: Uint8Array;
  /** AIFC only */
  compression?: string;
}

export function commonChunk({ channels = 2, frames = 4800, bits = 16, rate, compression }: CommonFields = {}): Buffer {
  const body = Buffer.alloc(8);
  body.writeInt16BE(channels, 0);
  body.writeUInt32BE(frames, 2);
  body.writeInt16BE(bits, 6);
  const tail = compression === undefined ? [] : [Buffer.from(`${compression}\0\0`, 'latin1')];
  return iffChunk('COMM', Buffer.concat([body, rate ?? float80Of(48_000), ...tail]));
}

export function soundChunk(audio: Uint8Array, { size, offset = 0 }: { size?: number; offset?: number } = {}): Buffer {
  const head = Buffer.alloc(8);
  head.writeUInt32BE(offset, 0);
  const body = Buffer.concat([head, Buffer.alloc(Math.min(offset, 64)), audio]);
  return iffChunk('SSND', body, size ?? body.length);
}

export function cafChunk(id: string, body: Uint8Array, size: number | bigint = body.length): Buffer {
  const head = Buffer.alloc(12);
  head.write(id, 'latin1');
  head.writeBigInt64BE(BigInt(size), 4);
  return Buffer.concat([head, body]);
}

export interface DescriptionFields {
  rateHz?: number;
  format?: string;
  /** 1 float, 2 little-endian */
  flags?: number;
  channels?: number;
  bits?: number;
  packetBytes?: number;
  packetFrames?: number;
}

export function descriptionChunk(fields: DescriptionFields = {}): Buffer {
  const { rateHz = 48_000, format = 'lpcm', flags = 0, channels = 2, bits = 16, packetFrames = 1 } = fields;
  const body = Buffer.alloc(32);
  body.writeDoubleBE(rateHz, 0);
  body.write(format, 8, 'latin1');
  body.writeUInt32BE(flags, 12);
  body.writeUInt32BE(fields.packetBytes ?? channels * Math.ceil(bits / 8), 16);
  body.writeUInt32BE(packetFrames, 20);
  body.writeUInt32BE(channels, 24);
  body.writeUInt32BE(bits, 28);
  return cafChunk('desc', body);
}

export function cafData(audio: Uint8Array, size?: number | bigint): Buffer {
  return cafChunk('data', Buffer.concat([Buffer.alloc(4), audio]), size);
}

export function caf(chunks: readonly Uint8Array[], version = 1): Buffer {
  return Buffer.concat([Buffer.from('caff', 'latin1'), Buffer.from([0, version, 0, 0]), ...chunks]);
}

const W64_TAIL = 'f3acd3118cd100c04f8edb8a';

/** `size` includes the header of 24 bytes; the body is padded to eight bytes. */
export function w64Chunk(id: string, body: Uint8Array, size: number | bigint = body.length + 24): Buffer {
  const head = Buffer.alloc(24);
  head.write(id, 'latin1');
  head.write(W64_TAIL, 4, 'hex');
  head.writeBigUInt64LE(BigInt(size), 16);
  return Buffer.concat([head, body, Buffer.alloc((8 - (body.length % 8)) % 8)]);
}

/** `format`: a WAVE format chunk, of which the body is taken. */
export function w64(format: Uint8Array, chunks: readonly Uint8Array[], size?: number | bigint): Buffer {
  const rest = Buffer.concat([w64Chunk('fmt ', format.subarray(8)), ...chunks]);
  const head = Buffer.alloc(40);
  head.write('726966662e91cf11a5d628db04c10000', 0, 'hex');
  head.writeBigUInt64LE(BigInt(size ?? rest.length + 40), 16);
  head.write(`77617665${W64_TAIL}`, 24, 'hex');
  return Buffer.concat([head, rest]);
}

export function w64Data(planes: readonly Int32Array[], bits: number): Buffer {
  return w64Chunk('data', pcmBytes(planes, bits));
}

// Builds WAVE files byte by byte for tests, right or wrong on purpose; shares nothing with the writer of the product.

export interface FormatFields {
  tag?: number;
  channels?: number;
  rateHz?: number;
  byteRate?: number;
  blockAlign?: number;
  bits?: number;
  /** extensible only */
  validBits?: number;
  mask?: number;
  subFormat?: string;
}

export const PCM_GUID = '0100000000001000800000aa00389b71';

export function chunk(id: string, body: Uint8Array, options: { size?: number; pad?: boolean } = {}): Buffer {
  const head = Buffer.alloc(8);
  head.write(id, 'latin1');
  head.writeUInt32LE(options.size ?? body.length, 4);
  const pad = (options.pad ?? true) && body.length % 2 ? [Buffer.alloc(1)] : [];
  return Buffer.concat([head, body, ...pad]);
}

/** 16 bytes, or 40 for tag 0xFFFE. Defaults: 16-bit stereo at 48 kHz, consistent with themselves. */
export function formatChunk(fields: FormatFields = {}): Buffer {
  const { tag = 1, channels = 2, rateHz = 48_000, bits = 16 } = fields;
  const blockAlign = fields.blockAlign ?? channels * Math.ceil(bits / 8);
  const body = Buffer.alloc(tag === 0xfffe ? 40 : 16);
  body.writeUInt16LE(tag, 0);
  body.writeUInt16LE(channels, 2);
  body.writeUInt32LE(rateHz, 4);
  body.writeUInt32LE(fields.byteRate ?? rateHz * blockAlign, 8);
  body.writeUInt16LE(blockAlign, 12);
  body.writeUInt16LE(bits, 14);
  if (tag === 0xfffe) {
    body.writeUInt16LE(22, 16);
    body.writeUInt16LE(fields.validBits ?? bits, 18);
    body.writeUInt32LE(fields.mask ?? 0, 20);
    body.write(fields.subFormat ?? PCM_GUID, 24, 'hex');
  }
  return chunk('fmt ', body);
}

/** `bext` after EBU Tech 3285 with the fields that takes are told by; `timeReference` in frames since midnight. */
export function bextChunk(timeReference: number, date = '1994-03-02'): Buffer {
  const body = Buffer.alloc(602);
  body.write('recorder', 256, 'latin1');
  body.write(date, 320, 'latin1');
  body.writeBigUInt64LE(BigInt(timeReference), 338);
  body.writeUInt16LE(1, 346);
  return chunk('bext', body);
}

export function ds64(riffBytes: number, dataBytes: number, frames: number): Buffer {
  const body = Buffer.alloc(28);
  body.writeBigUInt64LE(BigInt(riffBytes), 0);
  body.writeBigUInt64LE(BigInt(dataBytes), 8);
  body.writeBigUInt64LE(BigInt(frames), 16);
  return chunk('ds64', body);
}

export function riff(chunks: readonly Uint8Array[], options: { id?: string; size?: number } = {}): Buffer {
  const body = Buffer.concat(chunks);
  const head = Buffer.alloc(12);
  head.write(options.id ?? 'RIFF', 0, 'latin1');
  head.writeUInt32LE(options.size ?? body.length + 4, 4);
  head.write('WAVE', 8, 'latin1');
  return Buffer.concat([head, body]);
}

/** Interleaved little-endian bytes; 8 bits with offset. `shift` moves samples up, for padded containers. */
export function pcmBytes(planes: readonly Int32Array[], containerBits: number, shift = 0): Buffer {
  const width = containerBits / 8;
  const bytes = Buffer.alloc(planes.length * planes[0].length * width);
  for (const [c, plane] of planes.entries()) {
    for (const [i, sample] of plane.entries()) {
      const at = (i * planes.length + c) * width;
      if (width === 1) bytes.writeUInt8(sample + 128, at);
      else bytes.writeIntLE(sample << shift, at, width);
    }
  }
  return bytes;
}

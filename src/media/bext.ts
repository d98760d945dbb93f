// The broadcast extension chunk `bext` (EBU Tech 3285), read lightly: the fields that tell where a capture comes from, and written
// for derivatives. Loudness words and UMID are left alone. Offsets: Tech 3285 v2, table of the chunk.

export interface Bext {
  readonly description: string;
  readonly originator: string;
  readonly originatorReference: string;
  readonly originationDate: string;
  readonly originationTime: string;
  /** samples since midnight at the file's own rate */
  readonly timeReference: number;
  readonly version: number;
  readonly codingHistory: string;
}

export const BEXT_FIXED_BYTES = 602;
/** A coding history longer than this is cut: no real one is, and the size comes from the file. */
export const BEXT_MOST_BYTES = 65_536;

/** Undefined when the body is too short to hold the fixed part up to the version. */
export function parseBext(body: Uint8Array): Bext | undefined {
  if (body.length < 348) return undefined;
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  return {
    description: text(body, 0, 256),
    originator: text(body, 256, 32),
    originatorReference: text(body, 288, 32),
    originationDate: text(body, 320, 10),
    originationTime: text(body, 330, 8),
    timeReference: Number(view.getBigUint64(338, true)),
    version: view.getUint16(346, true),
    codingHistory: text(body, BEXT_FIXED_BYTES, Math.max(0, body.length - BEXT_FIXED_BYTES)),
  };
}

/** Up to the first NUL. The standard says ASCII; bytes above it are taken as Latin-1 rather than lost. */
function text(body: Uint8Array, from: number, length: number): string {
  const field = body.subarray(from, from + length);
  const end = field.indexOf(0);
  return Buffer.from(field.subarray(0, end < 0 ? field.length : end))
    .toString('latin1')
    .trimEnd();
}

/** The body of a chunk, of even length: version 1, fields cut to their room, letters beyond ASCII as "?". History lines end in CR LF. */
export function buildBext(fields: Partial<Omit<Bext, 'version'>>): Uint8Array {
  const history = (fields.codingHistory ?? '').replace(/\r?\n/g, '\r\n').slice(0, BEXT_MOST_BYTES);
  const body = Buffer.alloc(BEXT_FIXED_BYTES + history.length + (history.length % 2));
  const put = (value = '', at: number, length: number) =>
    body.write(value.replace(/[^\x20-\x7e\r\n]/g, '?').slice(0, length), at, length, 'latin1');
  put(fields.description, 0, 256);
  put(fields.originator, 256, 32);
  put(fields.originatorReference, 288, 32);
  put(fields.originationDate, 320, 10);
  put(fields.originationTime, 330, 8);
  body.writeBigUInt64LE(BigInt(fields.timeReference ?? 0), 338);
  body.writeUInt16LE(1, 346);
  put(history, BEXT_FIXED_BYTES, history.length);
  return body;
}

// The two checksums of a FLAC frame (RFC 9639 sections 9.1.8 and 9.3): CRC-8 polynomial 0x07 over the header, CRC-16
// polynomial 0x8005 over the frame, both from zero, most significant bit first.

/** Small enough for a loop over bits: headers have at most 15 bytes. */
export function crc8(bytes: Uint8Array, from: number, to: number): number {
  let crc = 0;
  for (let i = from; i < to; i++) {
    crc ^= bytes[i];
    for (let bit = 0; bit < 8; bit++) crc = ((crc << 1) ^ (crc & 0x80 ? 0x107 : 0)) & 0xff;
  }
  return crc;
}

/** `tables[256 * n + b]`: what byte b does when n more bytes follow in the same step of four. */
export function crc16Tables(): Uint16Array {
  const tables = new Uint16Array(1024);
  for (let b = 0; b < 256; b++) {
    let crc = b << 8;
    for (let bit = 0; bit < 8; bit++) crc = ((crc << 1) ^ (crc & 0x8000 ? 0x18005 : 0)) & 0xffff;
    tables[b] = crc;
  }
  for (let i = 256; i < 1024; i++) {
    const before = tables[i - 256];
    tables[i] = ((before << 8) & 0xffff) ^ tables[before >> 8];
  }
  return tables;
}

/** Four bytes a step. Over a whole frame with its stored CRC the result is 0. */
export function crc16(tables: Uint16Array, bytes: Uint8Array, from: number, to: number): number {
  let crc = 0;
  let i = from;
  for (; i + 4 <= to; i += 4) {
    crc =
      tables[768 + ((crc >> 8) ^ bytes[i])] ^
      tables[512 + ((crc & 0xff) ^ bytes[i + 1])] ^
      tables[256 + bytes[i + 2]] ^
      tables[bytes[i + 3]];
  }
  for (; i < to; i++) crc = ((crc << 8) & 0xffff) ^ tables[(crc >> 8) ^ bytes[i]];
  return crc;
}

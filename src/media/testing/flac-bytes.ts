// Writes small FLAC files with any subframe on purpose (RFC 9639), as no ordinary encoder would: escaped partitions, wasted
// bits, either blocking strategy, 33-bit side channels. A test's own code: shares nothing with the decoder, checksums included.

export interface SubframeSpec {
  readonly kind: 'constant' | 'verbatim' | 'fixed' | 'linear';
  /** fixed: 0 to 4; linear: number of coefficients */
  readonly coefficients?: readonly number[];
  readonly order?: number;
  readonly precision?: number;
  readonly shift?: number;
  readonly wasted?: number;
  readonly partitionOrder?: number;
  /** 5-bit Rice parameters */
  readonly isWide?: boolean;
  /** escape code in every second partition */
  readonly hasEscapes?: boolean;
}

export interface FrameSpec {
  /** number of channels - 1, or 8 left-side, 9 side-right, 10 mid-side */
  readonly assignment: number;
  /** one per channel, `planes` being the real channels */
  readonly subframes: readonly SubframeSpec[];
  readonly planes: readonly Int32Array[];
}

export interface FlacSpec {
  readonly bits: number;
  readonly rateHz: number;
  readonly isVariable?: boolean;
  readonly frames: readonly FrameSpec[];
  readonly total?: number;
  readonly md5?: string;
  /** number of the first frame or sample */
  readonly firstNumber?: number;
}

/** Also tells where each frame begins. */
export function buildFlac(spec: FlacSpec): { bytes: Buffer; offsets: number[] } {
  const sizes = spec.frames.map(({ planes }) => planes[0].length);
  const parts: Buffer[] = [streamInfo(spec, sizes)];
  const offsets: number[] = [];
  let length = parts[0].length;
  let number = spec.firstNumber ?? 0;
  for (const [i, frame] of spec.frames.entries()) {
    const bytes = frameBytes(spec, frame, number);
    offsets.push(length);
    parts.push(bytes);
    length += bytes.length;
    number += spec.isVariable ? sizes[i] : 1;
  }
  return { bytes: Buffer.concat(parts), offsets };
}

function streamInfo(spec: FlacSpec, sizes: readonly number[]): Buffer {
  const out = new BitWriter();
  const body = sizes.length > 1 ? sizes.slice(0, -1) : sizes;
  out.put(0x664c6143, 32).put(0x80, 8).put(34, 24);
  out
    .put(spec.isVariable ? Math.min(...body) : sizes[0], 16)
    .put(Math.max(...sizes), 16)
    .put(0, 24)
    .put(0, 24);
  out
    .put(spec.rateHz, 20)
    .put(spec.frames[0].planes.length - 1, 3)
    .put(spec.bits - 1, 5);
  out.put(spec.total ?? sizes.reduce((a, b) => a + b, 0), 36);
  return Buffer.concat([out.bytes(), Buffer.from(spec.md5 ?? '0'.repeat(32), 'hex')]);
}

function frameBytes(spec: FlacSpec, frame: FrameSpec, number: number): Buffer {
  const out = new BitWriter();
  const size = frame.planes[0].length;
  out
    .put(spec.isVariable ? 0xfff9 : 0xfff8, 16)
    .put(7, 4)
    .put(0, 4)
    .put(frame.assignment, 4);
  out.put({ 8: 1, 12: 2, 16: 4, 20: 5, 24: 6, 32: 7 }[spec.bits] ?? 0, 3).put(0, 1);
  putNumber(out, number);
  out.put(size - 1, 16);
  out.put(checksum(out.bytes(), 8, 0x07), 8);
  for (const [c, samples] of codedChannels(frame).entries()) {
    const isSide = frame.assignment === 9 ? c === 0 : frame.assignment > 7 && c === 1;
    putSubframe(out, samples, spec.bits + (isSide ? 1 : 0), frame.subframes[c]);
  }
  const body = out.bytes();
  return Buffer.concat([body, new BitWriter().put(checksum(body, 16, 0x8005), 16).bytes()]);
}

/** Samples as numbers, because a side channel of 32-bit audio needs 33 bits. */
function codedChannels({ assignment, planes }: FrameSpec): number[][] {
  const channels = planes.map((plane) => [...plane]);
  if (assignment < 8) return channels;
  const [left, right] = channels;
  const side = left.map((sample, i) => sample - right[i]);
  if (assignment === 8) return [left, side];
  if (assignment === 9) return [side, right];
  return [left.map((sample, i) => Math.floor((sample + right[i]) / 2)), side];
}

function putSubframe(out: BitWriter, samples: readonly number[], bits: number, spec: SubframeSpec): void {
  const { wasted = 0, order = 0, coefficients = [], precision = 15, shift = 0 } = spec;
  const width = bits - wasted;
  const values = samples.map((sample) => sample / 2 ** wasted);
  const codes = { constant: 0, verbatim: 1, fixed: 8 + order, linear: 31 + coefficients.length };
  out
    .put(0, 1)
    .put(codes[spec.kind], 6)
    .put(wasted ? 1 : 0, 1);
  if (wasted) out.put(1, wasted);
  if (spec.kind === 'constant') out.put(values[0], width);
  else if (spec.kind === 'verbatim') for (const value of values) out.put(value, width);
  else {
    const fixed = [[], [1], [2, -1], [3, -3, 1], [4, -6, 4, -1]][order];
    const used = spec.kind === 'fixed' ? fixed : coefficients;
    for (const value of values.slice(0, used.length)) out.put(value, width);
    if (spec.kind === 'linear') {
      out.put(precision - 1, 4).put(shift, 5);
      for (const coefficient of used) out.put(coefficient, precision);
    }
    putResidual(out, residualOf(values, used, spec.kind === 'fixed' ? 0 : shift), used.length, spec);
  }
}

export function residualOf(values: readonly number[], coefficients: readonly number[], shift: number): number[] {
  return values.map((value, i) => {
    if (i < coefficients.length) return 0;
    const sum = coefficients.reduce((total, c, j) => total + BigInt(c) * BigInt(values[i - 1 - j]), 0n);
    return Number(BigInt(value) - (sum >> BigInt(shift)));
  });
}

function putResidual(out: BitWriter, residual: readonly number[], order: number, spec: SubframeSpec): void {
  const { partitionOrder = 0, isWide = false, hasEscapes = false } = spec;
  out.put(isWide ? 1 : 0, 2).put(partitionOrder, 4);
  const length = residual.length / 2 ** partitionOrder;
  for (let p = 0; p < 2 ** partitionOrder; p++) {
    const part = residual.slice(p === 0 ? order : p * length, (p + 1) * length);
    const largest = Math.max(0, ...part.map(Math.abs));
    const need = largest === 0 ? 0 : Math.ceil(Math.log2(largest + 1)) + 1;
    if (hasEscapes && p % 2 === 0 && need < 32) {
      out.put(isWide ? 31 : 15, isWide ? 5 : 4).put(need, 5);
      if (need) for (const value of part) out.put(value, need);
    } else putRice(out, part, Math.min(isWide ? 30 : 14, Math.max(0, need - 3)), isWide);
  }
}

function putRice(out: BitWriter, part: readonly number[], parameter: number, isWide: boolean): void {
  out.put(parameter, isWide ? 5 : 4);
  for (const value of part) {
    const folded = value < 0 ? -2 * value - 1 : 2 * value;
    for (let zeros = Math.floor(folded / 2 ** parameter); zeros > 0; zeros--) out.put(0, 1);
    out.put(1, 1);
    if (parameter) out.put(folded % 2 ** parameter, parameter);
  }
}

function putNumber(out: BitWriter, number: number): void {
  if (number < 0x80) {
    out.put(number, 8);
    return;
  }
  let count = 2;
  while (count < 7 && number >= 2 ** (5 * count + 1)) count++;
  const top = Math.floor(number / 64 ** (count - 1));
  out.put((0xff & (0xff00 >> count)) | top, 8);
  for (let i = count - 2; i >= 0; i--) out.put(0x80 | (Math.floor(number / 64 ** i) % 64), 8);
}

export function checksum(bytes: Uint8Array, width: 8 | 16, polynomial: number): number {
  let crc = 0;
  for (const byte of bytes) {
    for (let bit = 7; bit >= 0; bit--) {
      const out = ((crc >> (width - 1)) & 1) ^ ((byte >> bit) & 1);
      crc = ((crc << 1) & (2 ** width - 1)) ^ (out ? polynomial : 0);
    }
  }
  return crc;
}

export class BitWriter {
  readonly #bits: number[] = [];

  /** The low `count` bits of a whole number, two's complement, up to 53. */
  put(value: number, count: number): this {
    const unsigned = value < 0 ? value + 2 ** count : value;
    for (let i = count - 1; i >= 0; i--) this.#bits.push(Math.floor(unsigned / 2 ** i) % 2);
    return this;
  }

  /** Padded with zero bits. */
  bytes(): Buffer {
    const out = Buffer.alloc(Math.ceil(this.#bits.length / 8));
    for (const [i, bit] of this.#bits.entries()) out[i >> 3] |= bit << (7 - (i & 7));
    return out;
  }
}

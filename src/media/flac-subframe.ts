// One channel of a FLAC frame (RFC 9639 sections 9.2.1 to 9.2.7): constant, verbatim, fixed and linear prediction, with
// wasted bits and Rice-coded or escaped residuals. Sums stay in doubles: 33-bit samples times 15-bit coefficients times
// 32 terms stay below 2^53, so every step is exact.

/** Why a frame cannot be decoded: `short` when it may go on past the bytes at hand. */
export class FlacFault extends Error {
  readonly isShort: boolean;

  constructor(message: string, isShort = false) {
    super(message);
    this.isShort = isShort;
  }
}

/** Bytes that must exist (with any value) behind the last byte of a frame, so that reading ahead needs no checks. */
export const FLAC_MARGIN_BYTES = 16;

export class SubframeReader {
  /** in bits from the start of `bytes` */
  position = 0;
  #bytes: Uint8Array = new Uint8Array(0);
  #view: DataView = new DataView(new ArrayBuffer(0));
  #limit = 0;
  readonly #coefficients = new Float64Array(32);

  /** `bytes` must have FLAC_MARGIN_BYTES after `end`. */
  aim(bytes: Uint8Array, at: number, end: number): void {
    if (this.#bytes !== bytes) this.#view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.#bytes = bytes;
    this.position = at * 8;
    this.#limit = end * 8;
  }

  /** Decodes `out.length` samples of `bits` bits (33 for the side channel of 32-bit audio). */
  read(out: Float64Array, bits: number): void {
    if (this.#unsigned(1) !== 0) throw new FlacFault('a subframe does not begin with 0');
    const type = this.#unsigned(6);
    const wasted = this.#unsigned(1) ? this.#unary() + 1 : 0;
    const width = bits - wasted;
    if (width < 1) throw new FlacFault('more wasted bits than bits');
    if (type === 0) out.fill(this.#signed(width));
    else if (type === 1) this.#verbatim(out, width);
    else if (type >= 8 && type <= 12) this.#fixed(out, width, type - 8);
    else if (type >= 32) this.#linear(out, width, type - 31);
    else throw new FlacFault(`subframe type ${type} is reserved`);
    if (wasted) {
      const scale = 2 ** wasted;
      for (let i = 0; i < out.length; i++) out[i] *= scale;
    }
    if (this.position > this.#limit) throw new FlacFault('the frame is cut', true);
  }

  #verbatim(out: Float64Array, width: number): void {
    for (let i = 0; i < out.length; i++) out[i] = this.#signed(width);
  }

  #fixed(out: Float64Array, width: number, order: number): void {
    this.#warmUp(out, width, order);
    this.#residual(out, order);
    undoFixed(out, order);
  }

  #linear(out: Float64Array, width: number, order: number): void {
    this.#warmUp(out, width, order);
    const precision = this.#unsigned(4) + 1;
    const shift = this.#signed(5);
    if (precision === 16) throw new FlacFault('coefficient precision 1111 is forbidden');
    if (shift < 0) throw new FlacFault('negative prediction shift');
    for (let i = 0; i < order; i++) this.#coefficients[i] = this.#signed(precision);
    this.#residual(out, order);
    undoLinear(out, this.#coefficients, order, 2 ** -shift);
  }

  #warmUp(out: Float64Array, width: number, order: number): void {
    if (order > out.length) throw new FlacFault('more warm-up samples than samples');
    for (let i = 0; i < order; i++) out[i] = this.#signed(width);
  }

  /** Section 9.2.7 */
  #residual(out: Float64Array, order: number): void {
    const method = this.#unsigned(2);
    if (method > 1) throw new FlacFault('reserved residual coding');
    const parameterBits = method === 0 ? 4 : 5;
    const escapeCode = (1 << parameterBits) - 1;
    const partitions = 1 << this.#unsigned(4);
    const length = out.length / partitions;
    if (!Number.isInteger(length) || length < order) throw new FlacFault('impossible number of partitions');
    for (let p = 0, from = order; p < partitions; p++) {
      const to = (p + 1) * length;
      const parameter = this.#unsigned(parameterBits);
      if (parameter === escapeCode) this.#escaped(out, from, to);
      else this.position = rice(this.#view, this.#bytes, this.position, this.#limit, parameter, out, from, to);
      from = to;
    }
  }

  #escaped(out: Float64Array, from: number, to: number): void {
    const width = this.#unsigned(5);
    for (let i = from; i < to; i++) out[i] = width ? this.#signed(width) : 0;
  }

  #unary(): number {
    let zeros = 0;
    while (this.#unsigned(1) === 0) zeros++;
    return zeros;
  }

  /** 1 to 32 bits */
  #unsigned(count: number): number {
    const word = this.#peek();
    this.position += count;
    return word >>> (32 - count);
  }

  /** 1 to 33 bits, two's complement */
  #signed(count: number): number {
    if (count === 33) return this.#signed(1) * 2 ** 32 + this.#unsigned(32);
    const word = this.#peek();
    this.position += count;
    return word >> (32 - count);
  }

  #peek(): number {
    if (this.position > this.#limit) throw new FlacFault('the frame is cut', true);
    const at = this.position >>> 3;
    const shift = this.position & 7;
    return (this.#view.getInt32(at) << shift) | (this.#bytes[at + 4] >>> (8 - shift));
  }
}

/** Rice codes of one partition into out[from..to); returns the new bit position. */
function rice(
  view: DataView,
  bytes: Uint8Array,
  start: number,
  limit: number,
  parameter: number,
  out: Float64Array,
  from: number,
  to: number,
): number {
  let position = start;
  const low = 31 - parameter;
  for (let i = from; i < to; i++) {
    if (position > limit) throw new FlacFault('the frame is cut', true);
    let at = position >>> 3;
    let shift = position & 7;
    let word = (view.getInt32(at) << shift) | (bytes[at + 4] >>> (8 - shift));
    let zeros = Math.clz32(word);
    if (zeros + parameter > 31) {
      // The code crosses the 32 bits at hand: count the zeros word by word, then look at the rest anew.
      let more = zeros;
      while (more === 32) {
        position += 32;
        if (position > limit) throw new FlacFault('the frame is cut', true);
        at = position >>> 3;
        shift = position & 7;
        word = (view.getInt32(at) << shift) | (bytes[at + 4] >>> (8 - shift));
        more = Math.clz32(word);
        zeros += more;
      }
      position += more + 1;
      if (position > limit) throw new FlacFault('the frame is cut', true);
      at = position >>> 3;
      shift = position & 7;
      word = (view.getInt32(at) << shift) | (bytes[at + 4] >>> (8 - shift));
      position += parameter;
    } else {
      // Two shifts, because a single one by 32 would do nothing.
      word = (word << zeros) << 1;
      position += zeros + 1 + parameter;
    }
    const value = (zeros << parameter) | ((word >>> 1) >>> low);
    out[i] = (value >>> 1) ^ -(value & 1);
  }
  return position;
}

/** Section 9.2.5: residuals in place become samples. */
function undoFixed(out: Float64Array, order: number): void {
  const length = out.length;
  if (order === 1) for (let i = 1; i < length; i++) out[i] += out[i - 1];
  else if (order === 2) for (let i = 2; i < length; i++) out[i] += 2 * out[i - 1] - out[i - 2];
  else if (order === 3) for (let i = 3; i < length; i++) out[i] += 3 * (out[i - 1] - out[i - 2]) + out[i - 3];
  else if (order === 4)
    for (let i = 4; i < length; i++) out[i] += 4 * (out[i - 1] + out[i - 3]) - 6 * out[i - 2] - out[i - 4];
}

/** Section 9.2.6: the floor of the scaled sum is what an arithmetic shift right gives. */
function undoLinear(out: Float64Array, coefficients: Float64Array, order: number, scale: number): void {
  coefficients.fill(0, order);
  const unrolled = order <= 4 ? 4 : order <= 8 ? 8 : order <= 12 ? 12 : 32;
  const plain = unrolled === 32 ? out.length : Math.min(unrolled, out.length);
  for (let i = order; i < plain; i++) {
    let sum = 0;
    for (let j = 0, p = i - 1; j < order; j++, p--) sum += coefficients[j] * out[p];
    out[i] += Math.floor(sum * scale);
  }
  if (unrolled === 4) undoLinear4(out, coefficients, scale);
  else if (unrolled === 8) undoLinear8(out, coefficients, scale);
  else if (unrolled === 12) undoLinear12(out, coefficients, scale);
}

// The usual orders unrolled, unused coefficients being 0. The newest sample is added last: the rest does not wait for it.

function undoLinear4(out: Float64Array, c: Float64Array, scale: number): void {
  const [c0, c1, c2, c3] = c;
  for (let i = 4; i < out.length; i++) {
    const sum = c3 * out[i - 4] + c2 * out[i - 3] + c1 * out[i - 2] + c0 * out[i - 1];
    out[i] += Math.floor(sum * scale);
  }
}

function undoLinear8(out: Float64Array, c: Float64Array, scale: number): void {
  const [c0, c1, c2, c3, c4, c5, c6, c7] = c;
  for (let i = 8; i < out.length; i++) {
    const far = c7 * out[i - 8] + c6 * out[i - 7] + c5 * out[i - 6] + c4 * out[i - 5];
    const sum = far + c3 * out[i - 4] + c2 * out[i - 3] + c1 * out[i - 2] + c0 * out[i - 1];
    out[i] += Math.floor(sum * scale);
  }
}

function undoLinear12(out: Float64Array, c: Float64Array, scale: number): void {
  const [c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10, c11] = c;
  for (let i = 12; i < out.length; i++) {
    const farthest = c11 * out[i - 12] + c10 * out[i - 11] + c9 * out[i - 10] + c8 * out[i - 9];
    const far = c7 * out[i - 8] + c6 * out[i - 7] + c5 * out[i - 6] + c4 * out[i - 5];
    const sum = farthest + far + c3 * out[i - 4] + c2 * out[i - 3] + c1 * out[i - 2] + c0 * out[i - 1];
    out[i] += Math.floor(sum * scale);
  }
}

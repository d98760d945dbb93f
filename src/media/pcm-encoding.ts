// How one sample is stored, and the tight loop that turns stored bytes into integers for every encoding that is read. The
// usual ones (little-endian, as WAVE stores them) are in pcm-planes; the rarer ones are here. Not for deciding anything.
import { LITTLE_ENDIAN_TAKE, type PcmBits, type Take } from './pcm-planes.ts';

export interface PcmEncoding {
  readonly kind: 'integer' | 'float';
  /** stored width; float: 32 or 64, integer: up to 32 */
  readonly bits: PcmBits | 64;
  readonly endian: 'little' | 'big';
  /** integers only: false where half of the range was added, as WAVE does with 8 bits */
  readonly isSigned: boolean;
  /** integers only: this many bits at the bottom of the container are the sample; what lies above is ignored */
  readonly rightBits?: number;
  /** float only: 1.0 becomes 2^(floatBits - 1) */
  readonly floatBits?: number;
}

/** "s24le", "u8", "f32be": for people and for messages. */
export function nameOf({ kind, bits, endian, isSigned }: PcmEncoding): string {
  const letter = kind === 'float' ? 'f' : isSigned ? 's' : 'u';
  return `${letter}${bits}${bits === 8 ? '' : endian === 'little' ? 'le' : 'be'}`;
}

/** Whether the stored bytes are those that a WAVE data chunk would hold for integers of this width. */
export function isNative(encoding: PcmEncoding): boolean {
  const { kind, bits, endian, isSigned, rightBits } = encoding;
  if (kind === 'float' || rightBits !== undefined) return false;
  return bits === 8 ? !isSigned : isSigned && endian === 'little';
}

export function takeOf(encoding: PcmEncoding): Take {
  if (encoding.kind === 'float') return floatTake(encoding);
  const plain = integerTake(encoding);
  return encoding.rightBits === undefined ? plain : cutTo(encoding.rightBits, plain);
}

function integerTake({ bits, endian, isSigned }: PcmEncoding): Take {
  const width = bits as PcmBits;
  if (width === 8) return isSigned ? signed8 : LITTLE_ENDIAN_TAKE[8];
  const signed = endian === 'little' ? LITTLE_ENDIAN_TAKE[width] : BIG_ENDIAN_TAKE[width];
  return isSigned ? signed : withoutOffset(width, signed);
}

const signed8: Take = (bytes, at, stride, plane, from, to) => {
  for (let i = from, p = at; i < to; i++, p += stride) plane[i] = (bytes[p] << 24) >> 24;
};

const BIG_ENDIAN_TAKE: Record<16 | 24 | 32, Take> = {
  16: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) plane[i] = ((bytes[p] << 24) | (bytes[p + 1] << 16)) >> 16;
  },
  24: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      plane[i] = ((bytes[p] << 24) | (bytes[p + 1] << 16) | (bytes[p + 2] << 8)) >> 8;
    }
  },
  32: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      plane[i] = (bytes[p] << 24) | (bytes[p + 1] << 16) | (bytes[p + 2] << 8) | bytes[p + 3];
    }
  },
};

/** An unsigned sample read as signed is off by its top bit: turning that and its copies above it takes the offset away. */
function withoutOffset(bits: number, signed: Take): Take {
  const top = -(2 ** (bits - 1));
  return (bytes, at, stride, plane, from, to) => {
    signed(bytes, at, stride, plane, from, to);
    for (let i = from; i < to; i++) plane[i] ^= top;
  };
}

/** Sign- and zero-extended right-justified samples alike. */
function cutTo(bits: number, plain: Take): Take {
  const shift = 32 - bits;
  return (bytes, at, stride, plane, from, to) => {
    plain(bytes, at, stride, plane, from, to);
    for (let i = from; i < to; i++) plane[i] = (plane[i] << shift) >> shift;
  };
}

/** The caller has made sure that every product is an integer of `floatBits` bits: see float-scan. */
function floatTake({ bits, endian, floatBits = 32 }: PcmEncoding): Take {
  const scale = 2 ** (floatBits - 1);
  const isLittle = endian === 'little';
  return (bytes, at, stride, plane, from, to) => {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (let i = from, p = at; i < to; i++, p += stride) {
      plane[i] = (bits === 32 ? view.getFloat32(p, isLittle) : view.getFloat64(p, isLittle)) * scale;
    }
  };
}

// Interleaved little-endian PCM bytes to planes of integers and back: one tight loop per width, no allocation.
// Widths: 8 (offset binary, as WAVE stores it), 16, 24, 32. Other encodings: pcm-encoding.

export type PcmBits = 8 | 16 | 24 | 32;

/** Frames handled per turn, so that one turn's bytes stay in the processor's cache while each channel walks them. */
const TILE_FRAMES = 512;

/** Fills `planes[c][to .. to + frames)` from the frames that begin at `bytes[from]`, one sample being `width` bytes. */
export function deinterleave(
  bytes: Uint8Array,
  from: number,
  frames: number,
  take: Take,
  width: number,
  planes: readonly Int32Array[],
  to: number,
): void {
  const stride = width * planes.length;
  for (let at = 0; at < frames; at += TILE_FRAMES) {
    const count = Math.min(TILE_FRAMES, frames - at);
    for (let c = 0; c < planes.length; c++) {
      take(bytes, from + at * stride + c * width, stride, planes[c], to + at, to + at + count);
    }
  }
}

/** Samples `stride` bytes apart, the first at `bytes[at]`, into `plane[from..to)`. */
export type Take = (bytes: Uint8Array, at: number, stride: number, plane: Int32Array, from: number, to: number) => void;

export const LITTLE_ENDIAN_TAKE: Record<PcmBits, Take> = {
  8: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) plane[i] = bytes[p] - 128;
  },
  16: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) plane[i] = ((bytes[p] | (bytes[p + 1] << 8)) << 16) >> 16;
  },
  24: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      plane[i] = ((bytes[p] << 8) | (bytes[p + 1] << 16) | (bytes[p + 2] << 24)) >> 8;
    }
  },
  32: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      plane[i] = bytes[p] | (bytes[p + 1] << 8) | (bytes[p + 2] << 16) | (bytes[p + 3] << 24);
    }
  },
};

/**
 * The opposite way: frames [from, from + frames) of the planes into `bytes` at `to`. Returns the number of bytes written.
 * Samples outside the width are the caller's fault and are cut to the low bits: see `firstOutside`.
 */
export function interleave(
  planes: readonly Int32Array[],
  from: number,
  frames: number,
  bits: PcmBits,
  bytes: Uint8Array,
  to: number,
): number {
  const width = bits / 8;
  const stride = width * planes.length;
  const put = PUT[bits];
  for (let at = 0; at < frames; at += TILE_FRAMES) {
    const count = Math.min(TILE_FRAMES, frames - at);
    for (let c = 0; c < planes.length; c++) {
      put(bytes, to + at * stride + c * width, stride, planes[c], from + at, from + at + count);
    }
  }
  return frames * stride;
}

const PUT: Record<PcmBits, Take> = {
  8: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) bytes[p] = plane[i] + 128;
  },
  16: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      bytes[p] = plane[i];
      bytes[p + 1] = plane[i] >> 8;
    }
  },
  24: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      bytes[p] = plane[i];
      bytes[p + 1] = plane[i] >> 8;
      bytes[p + 2] = plane[i] >> 16;
    }
  },
  32: (bytes, at, stride, plane, from, to) => {
    for (let i = from, p = at; i < to; i++, p += stride) {
      bytes[p] = plane[i];
      bytes[p + 1] = plane[i] >> 8;
      bytes[p + 2] = plane[i] >> 16;
      bytes[p + 3] = plane[i] >> 24;
    }
  },
};

/** Index of the first sample in [from, to) that does not fit into `bits`, or -1. */
export function firstOutside(plane: Int32Array, from: number, to: number, bits: number): number {
  const shift = 32 - bits;
  for (let i = from; i < to; i++) if ((plane[i] << shift) >> shift !== plane[i]) return i;
  return -1;
}

// The common layouts of PCM read by machine words instead of bytes: same samples as pcm-planes, in less than half the time.
// Not for odd channel counts, big-endian bytes or buffers that do not lie on a word: those take the general way.
import { LITTLE_ENDIAN_TAKE, type Take } from './pcm-planes.ts';

const IS_LITTLE_ENDIAN = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1;
/** Frames per turn, so that what one turn reads and writes stays in the cache. */
const TILE_FRAMES = 512;

/**
 * Frames of signed little-endian samples, from `bytes[from]` on, into `planes[c][to .. to + frames)`. Returns how many frames were
 * done: none where the layout is not one of these, and for two channels of 24 bits an even number of them.
 */
export function deinterleaveWords(
  bytes: Uint8Array,
  from: number,
  frames: number,
  take: Take,
  planes: readonly Int32Array[],
  to: number,
): number {
  const at = bytes.byteOffset + from;
  if (!IS_LITTLE_ENDIAN) return 0;
  if (take === LITTLE_ENDIAN_TAKE[16] && at % 2 === 0) return halves(bytes, at, frames, planes, to);
  if (take !== LITTLE_ENDIAN_TAKE[24] || at % 4 !== 0) return 0;
  if (planes.length === 2) return pairs(bytes, at, frames - (frames % 2), planes, to);
  return planes.length % 4 === 0 ? fours(bytes, at, frames, planes, to) : 0;
}

function halves(bytes: Uint8Array, at: number, frames: number, planes: readonly Int32Array[], to: number): number {
  const channels = planes.length;
  const x = new Int16Array(bytes.buffer, at, frames * channels);
  for (let tile = 0; tile < frames; tile += TILE_FRAMES) {
    const end = Math.min(frames, tile + TILE_FRAMES);
    for (let c = 0; c < channels; c++) {
      const plane = planes[c];
      for (let i = tile, p = tile * channels + c; i < end; i++, p += channels) plane[to + i] = x[p];
    }
  }
  return frames;
}

/** Two frames of two channels of 24 bits are three words. */
function pairs(bytes: Uint8Array, at: number, frames: number, planes: readonly Int32Array[], to: number): number {
  const words = new Int32Array(bytes.buffer, at, (frames / 2) * 3);
  const [left, right] = planes;
  for (let i = to, p = 0; i < to + frames; i += 2, p += 3) {
    const x = words[p];
    const y = words[p + 1];
    const z = words[p + 2];
    left[i] = (x << 8) >> 8;
    right[i] = (((x >>> 24) | (y << 8)) << 8) >> 8;
    left[i + 1] = (((y >>> 16) | (z << 16)) << 8) >> 8;
    right[i + 1] = z >> 8;
  }
  return frames;
}

/** Four neighbouring channels of 24 bits are three words. */
function fours(bytes: Uint8Array, at: number, frames: number, planes: readonly Int32Array[], to: number): number {
  const stride = (planes.length / 4) * 3;
  const words = new Int32Array(bytes.buffer, at, frames * stride);
  for (let tile = 0; tile < frames; tile += TILE_FRAMES) {
    const end = Math.min(frames, tile + TILE_FRAMES);
    for (let c = 0; c < planes.length; c += 4) four(words, (c / 4) * 3, stride, planes.slice(c, c + 4), tile, end, to);
  }
  return frames;
}

function four(
  words: Int32Array,
  first: number,
  stride: number,
  [a, b, c, d]: readonly Int32Array[],
  from: number,
  end: number,
  to: number,
): void {
  for (let i = from + to, p = first + from * stride; i < end + to; i++, p += stride) {
    const x = words[p];
    const y = words[p + 1];
    const z = words[p + 2];
    a[i] = (x << 8) >> 8;
    b[i] = (((x >>> 24) | (y << 8)) << 8) >> 8;
    c[i] = (((y >>> 16) | (z << 16)) << 8) >> 8;
    d[i] = z >> 8;
  }
}

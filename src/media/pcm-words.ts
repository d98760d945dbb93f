// The common layouts of PCM read by machine words instead of bytes: same samples as pcm-planes, in less than half the time.
// Not for odd channel counts, big-endian bytes or buffers that do not lie on a word: those take the general way.
import { isPackable24, pack24, unpack24 } from '../signal/index.ts';
import { interleave, LITTLE_ENDIAN_TAKE, type PcmBits, type Take } from './pcm-planes.ts';

const IS_LITTLE_ENDIAN = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1;
/** Frames per turn, so that what one turn reads and writes stays in the cache. */
const TILE_FRAMES = 512;
/** Below this the way into the kernels' memory takes longer than the samples. */
const FEWEST_FRAMES = 64;

/**
 * Frames of signed little-endian samples, from `bytes[from]` on, into `planes[c][to .. to + frames)`. Returns how many frames were
 * done: none where the layout is not one of these; of 24 bits an even number for two channels, else a multiple of four.
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
  if (take !== LITTLE_ENDIAN_TAKE[24]) return 0;
  if (planes.length === 2 && at % 4 === 0) return pairs(bytes, at, frames - (frames % 2), planes, to);
  return frames >= FEWEST_FRAMES && isPackable24(planes.length) ? unpack24(bytes, from, frames, planes, to) : 0;
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

/** The same as `interleave`. */
export function interleaveQuickly(
  planes: readonly Int32Array[],
  from: number,
  frames: number,
  bits: PcmBits,
  bytes: Uint8Array,
  to: number,
): number {
  const isQuick = bits === 24 && frames >= FEWEST_FRAMES && isPackable24(planes.length);
  const done = isQuick ? pack24(planes, from, frames, bytes, to) : 0;
  const length = 3 * planes.length * done;
  return length + interleave(planes, from + done, frames - done, bits, bytes, to + length);
}

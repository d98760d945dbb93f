// Interleaved little-endian samples of 24 bits to planes and back, four channels at a time. The usual layout of a multitrack capture,
// and the only one here: media/ knows the others, and its plain loops say what this means.
import { type Machine, machineOf } from './machine.ts';

const LANES = 4;
const FRAME_LANES = 4;
/** Frames of one part, fewer where there are many channels: what one part reads and writes stays in the cache. */
const PART_SAMPLES = 16_384;
const WIDTH = 3;

/** Whether a file of so many channels is done here. */
export function isPackable24(channels: number): boolean {
  return channels > 0 && channels % LANES === 0 && channels <= PART_SAMPLES / FRAME_LANES;
}

/**
 * Frames from `bytes[from]` on into `planes[c][to .. to + frames)`. Returns how many were done: a multiple of four. The number of planes is one that
 * `isPackable24` allows.
 */
export function unpack24(
  bytes: Uint8Array,
  from: number,
  frames: number,
  planes: readonly Int32Array[],
  to: number,
): number {
  const it = machineOf(planes[0]);
  const whole = frames - (frames % FRAME_LANES);
  const frameBytes = WIDTH * planes.length;
  const part = partOf(planes);
  const isInPlace = liesIn(it, planes);
  for (let done = 0; done < whole; done += part) {
    const count = Math.min(part, whole - done);
    const at = from + done * frameBytes;
    const input = bytesPlaced(it, bytes.subarray(at, at + count * frameBytes));
    for (let c = 0; c < planes.length; c += LANES) {
      const [p, q, r, s] = addressesOf(it, planes, c, isInPlace ? to + done : undefined);
      it.kernels.unpack24(input + WIDTH * c, count, frameBytes, p, q, r, s);
      if (isInPlace) continue;
      for (const [k, address] of [p, q, r, s].entries()) {
        planes[c + k].set(it.words.subarray(address / 4, address / 4 + count), to + done);
      }
    }
  }
  return whole;
}

/** The opposite way: frames [from, from + frames) into `bytes[to]` and on. Returns how many were done. Only the low 24 bits are taken. */
export function pack24(
  planes: readonly Int32Array[],
  from: number,
  frames: number,
  bytes: Uint8Array,
  to: number,
): number {
  const it = machineOf(planes[0]);
  const whole = frames - (frames % FRAME_LANES);
  const frameBytes = WIDTH * planes.length;
  const part = partOf(planes);
  const isInPlace = liesIn(it, planes);
  for (let done = 0; done < whole; done += part) {
    const count = Math.min(part, whole - done);
    for (let c = 0; c < planes.length; c += LANES) {
      const [p, q, r, s] = addressesOf(it, planes, c, isInPlace ? from + done : undefined);
      if (!isInPlace) {
        for (const [k, address] of [p, q, r, s].entries()) {
          it.words.set(planes[c + k].subarray(from + done, from + done + count), address / 4);
        }
      }
      it.kernels.pack24(p, q, r, s, count, it.at.plane + WIDTH * c, frameBytes);
    }
    const { plane } = it.at;
    bytes.set(it.bytes.subarray(plane, plane + count * frameBytes), to + done * frameBytes);
  }
  return whole;
}

function bytesPlaced(it: Machine, bytes: Uint8Array): number {
  if (bytes.buffer === it.words.buffer) return bytes.byteOffset;
  it.bytes.set(bytes, it.at.plane);
  return it.at.plane;
}

function partOf(planes: readonly Int32Array[]): number {
  return Math.floor(PART_SAMPLES / planes.length / FRAME_LANES) * FRAME_LANES;
}

function liesIn(it: Machine, planes: readonly Int32Array[]): boolean {
  return planes.every(({ buffer }) => buffer === it.words.buffer);
}

/** Of four planes from their frame `at` on, or of the workspace. */
function addressesOf(it: Machine, planes: readonly Int32Array[], c: number, at: number | undefined): number[] {
  return Array.from({ length: LANES }, (_, k) =>
    at === undefined ? it.at.second + k * 4 * partOf(planes) : planes[c + k].byteOffset + 4 * at,
  );
}

// The largest of every seventh sample in windows of a plane: how loud it is, roughly, for little. Kernel and plain twin.
import { machineOf, PLANE_FRAMES } from './machine.ts';

/** A prime: no tone at an even part of the rate hides between the samples looked at. */
export const LOOK_STRIDE = 7;

/**
 * Largest magnitude of samples `first`, `first` + LOOK_STRIDE ... in each window: one ends before sample `end` (at least 1), each further one
 * `window` later, the last with the plane, which has samples. Valid until the next kernel runs.
 */
export function largestLooks(plane: Int32Array, first: number, end: number, window: number): Uint32Array {
  const it = machineOf(plane);
  // Where it had to be copied first there would be nothing to gain.
  if (plane.buffer !== it.words.buffer || plane.length > PLANE_FRAMES)
    return plainLargestLooks(plane, first, end, window);
  it.kernels.largestLooks(plane.byteOffset, plane.length, first, end, window, it.at.list);
  return new Uint32Array(it.words.buffer, it.at.list, 1 + Math.max(0, Math.ceil((plane.length - end) / window)));
}

/** The plain twin. */
export function plainLargestLooks(plane: Int32Array, first: number, end: number, window: number): Uint32Array {
  const largest = new Uint32Array(1 + Math.max(0, Math.ceil((plane.length - end) / window)));
  for (let k = 0, i = first; k < largest.length; k++) {
    const last = Math.min(end + k * window, plane.length);
    let least = 0;
    let most = 0;
    for (; i < last; i += LOOK_STRIDE) {
      const x = plane[i];
      if (x > most) most = x;
      else if (x < least) least = x;
    }
    largest[k] = Math.max(most, -least);
  }
  return largest;
}

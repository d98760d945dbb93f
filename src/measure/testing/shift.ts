// A delay by a fraction of a frame, for tests.
import { resampleReal } from '../../signal/index.ts';

export function fractionalShift(plane: Float64Array, frames: number): Float64Array {
  return resampleReal(plane, -frames, 1, plane.length, { halfTaps: 32 });
}

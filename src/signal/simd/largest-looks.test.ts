// The kernel against its plain twin, in memory that the kernels share.
import { expect, it } from 'vitest';
import { Random } from '../random.ts';
import { largestLooks, plainLargestLooks } from './largest-looks.ts';
import { joinSharedPlanes, makeSharedPlanes } from './shared-planes.ts';

it('equals its plain twin', () => {
  const shared = makeSharedPlanes({ threads: 1, slots: 1, channels: 1, frames: 65_536, room: 0 });
  const [[plane]] = joinSharedPlanes(shared, 0).slots;
  const random = new Random(1);
  for (const bits of [1, 16, 24, 32]) {
    for (let i = 0; i < plane.length; i++) plane[i] = (random.uint32() | 0) >> (32 - bits);
    for (const frames of [1, 6, 959, 960, 961, 4099, 65_536]) {
      const part = plane.subarray(0, frames);
      for (const [first, end, window] of [
        [0, 960, 960],
        [5, 1, 960],
        [3, 700, 56],
        [70_000, 12, 441],
        [6, 100_000, 960],
      ]) {
        expect(largestLooks(part, first, end, window)).toEqual(plainLargestLooks(part, first, end, window));
      }
    }
  }
  expect(plainLargestLooks(Int32Array.from([0, 9, 9, 9, 9, 9, 9, -(2 ** 31)]), 0, 4, 4)).toEqual(
    Uint32Array.from([0, 2 ** 31]),
  );
});

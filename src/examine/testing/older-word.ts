// Sound of the lowest bit of 16 that was brought to 48 kHz and 24 bits: between its steps it rests, after each it rings in one of 160 ways. For tests; not a
// word of any format.
import { Random, resample } from '../../signal/index.ts';

/** 24-bit samples; steps of the older word are 205 apart. The ringing dies out where the sound rests for longer. */
export function olderWordRinging(frames: number, seed: number): Int32Array {
  const random = new Random(seed);
  let [level, rest] = [0, 0];
  const older = Float64Array.from({ length: Math.ceil((frames * 147) / 160) }, () => {
    if (rest-- <= 0) {
      level = random.integer(3) - 1;
      rest = 1 + (random.integer(40) === 0 ? 150 + random.integer(500) : random.integer(60));
    }
    return level * 204.8;
  });
  return Int32Array.from(resample(older, { num: 160, den: 147 }).subarray(0, frames), Math.round);
}

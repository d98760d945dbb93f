// Whether each captured bit is the sent bit of its place, its opposite, or stands still: faults of wires and words. Only where nothing else changed.
import { eachPair, type PairSource } from './pairs.ts';

export type BitState = 'same' | 'inverted' | 'always 0' | 'always 1' | 'unrelated';

/** Bit 0 is the lowest of the sent word. Once a bit is unrelated nothing more is counted. */
export async function bitStates(from: PairSource): Promise<BitState[]> {
  const { bits } = from.signal;
  const shift = from.capture.info.bits - bits;
  if (shift < 0) return [];
  const counts = Array.from({ length: bits }, () => [0, 0, 0, 0]);
  await eachPair(from, ({ captured, expected }) => {
    for (let n = 0; n < captured.length; n++) {
      const c = captured[n] >> shift;
      const s = expected[n] / 2 ** shift;
      for (let bit = 0; bit < bits; bit++) counts[bit][(((s >> bit) & 1) << 1) | ((c >> bit) & 1)]++;
    }
    return counts.some((count) => stateOf(count) === 'unrelated') ? 'enough' : undefined;
  });
  return counts.map(stateOf);
}

function stateOf([zeroZero, zeroOne, oneZero, oneOne]: readonly number[]): BitState {
  if (zeroOne + oneZero === 0) return 'same';
  if (zeroZero + oneOne === 0) return 'inverted';
  if (zeroOne + oneOne === 0) return 'always 0';
  return zeroZero + oneZero === 0 ? 'always 1' : 'unrelated';
}

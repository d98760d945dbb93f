// What is asked of a short window before anything dear is done with it, in one pass. Not for whole blocks, whose totals are
// shared (plane-statistics.ts).
import { machineOf, PLANE_FRAMES, placed } from './machine.ts';
import { plainFacts } from './plain.ts';

export interface WindowFacts {
  readonly samples: number;
  /** +Infinity and -Infinity where there is no sample */
  readonly min: number;
  readonly max: number;
  readonly or: number;
  readonly and: number;
  readonly zeros: number;
  /** samples equal to the one before */
  readonly repeats: number;
  /** sum of the magnitudes */
  readonly magnitudes: number;
}

/** Below this the plain loop is quicker than the way into the kernels' memory. */
const WORTHWHILE = 128;

/** Adds to `trailingZeros`: [k] = samples that are not zero and have k trailing zero bits, k = 0..31. */
export function windowFacts(plane: Int32Array, trailingZeros: Float64Array): WindowFacts {
  const samples = plane.length;
  if (samples < WORTHWHILE || samples > PLANE_FRAMES) return plainFacts(plane, trailingZeros);
  const it = machineOf(plane);
  const from = placed(it, plane, it.at.plane);
  it.kernels.facts(from, samples, it.at.sums);
  it.kernels.lowestBits(from, samples, it.at.levels, it.at.lowestBits);
  let zeros = samples;
  for (let k = 0; k < 32; k++) {
    const count = it.words[it.at.lowestBits / 4 + k];
    trailingZeros[k] += count;
    zeros -= count;
  }
  const at = it.at.sums / 4;
  return {
    samples,
    min: it.words[at],
    max: it.words[at + 1],
    or: it.words[at + 2],
    and: it.words[at + 3],
    zeros,
    repeats: it.words[at + 4],
    magnitudes: it.reals[it.at.sums / 8 + 3],
  };
}

// Several detectors ask the same of the same planes: counted once per block, by whoever asks first. Keyed by the block itself,
// never by its planes, which producers reuse.
import type { Block } from '../base/index.ts';
import { type LowestBits, lowestBits, type PlaneStatistics, planeStatistics } from '../signal/index.ts';

const known = new WeakMap<Block, readonly PlaneStatistics[]>();
const knownBits = new WeakMap<Block, readonly LowestBits[]>();

/** One per plane. The samples of a block must not change while it is with the detectors. */
export function statisticsOf(block: Block): readonly PlaneStatistics[] {
  let statistics = known.get(block);
  if (!statistics) {
    statistics = block.planes.map(planeStatistics);
    known.set(block, statistics);
  }
  return statistics;
}

/** For those who ask only for the step: counted by itself where nobody has asked for more. */
export function lowestBitsOf(block: Block): readonly LowestBits[] {
  let bits = known.get(block) ?? knownBits.get(block);
  if (!bits) {
    bits = block.planes.map(lowestBits);
    knownBits.set(block, bits);
  }
  return bits;
}

/** What another thread has counted of the same block already. */
export function tellLowestBits(block: Block, bits: readonly LowestBits[]): void {
  knownBits.set(block, bits);
}

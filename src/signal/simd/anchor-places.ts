// Where the rolling hash of anchors falls on its pattern: each sample's part moves up one bit per sample and falls out after 32.
// Equal bits in the kernel and in its plain twin. Not for which of these places become anchors: ../anchors.ts.
import { machineOf, placed } from './machine.ts';

/** Arbitrary odd constants; the pattern's top bit is set so that digital silence (hash 0) is never chosen. */
const SPREAD = 0x9e3779b1 | 0;
const PATTERN = 0xb5297a4d | 0;
/** Frames of one part: as many pairs fit into the list where every place is one. */
const PART = 16_384;
/** Below this the plain loop is quicker than the way into the kernels' memory. */
const WORTHWHILE = 256;

/** Sees the index of a place and how many of the topmost bits agree with the pattern, at least `level`. */
export type SeePlace = (index: number, level: number) => void;

/**
 * All places at which at least `level` of the topmost bits agree, in order. Samples are taken left-justified: `shift` bits up. `rolling`: the
 * hash, one value, left as it is after the last sample.
 */
export function anchorPlaces(
  samples: Int32Array,
  shift: number,
  level: number,
  rolling: Int32Array,
  see: SeePlace,
): void {
  if (samples.length < WORTHWHILE) {
    plainAnchorPlaces(samples, shift, level, rolling, see);
    return;
  }
  const it = machineOf(samples);
  const { state, list } = it.at;
  const mask = maskOf(level);
  for (let at = 0; at < samples.length; at += PART) {
    const part = samples.subarray(at, at + PART);
    it.words[state / 4] = rolling[0];
    const from = placed(it, part, it.at.plane);
    const count = it.kernels.anchorPlaces(from, part.length, shift, SPREAD, mask, PATTERN & mask, state, list);
    rolling[0] = it.words[state / 4];
    // Copied out: whoever sees a place may use the kernels again.
    const found = it.words.slice(list / 4, list / 4 + 2 * count);
    for (let k = 0; k < found.length; k += 2) see(at + found[k], Math.clz32(found[k + 1] ^ PATTERN));
  }
}

/** The plain twin. */
export function plainAnchorPlaces(
  samples: Int32Array,
  shift: number,
  level: number,
  rolling: Int32Array,
  see: SeePlace,
): void {
  const mask = maskOf(level);
  let hash = rolling[0];
  for (let i = 0; i < samples.length; i++) {
    const value = samples[i] << shift;
    hash = ((hash << 1) + Math.imul(value ^ (value >>> 16), SPREAD)) | 0;
    if ((hash & mask) === (PATTERN & mask)) see(i, Math.clz32(hash ^ PATTERN));
  }
  rolling[0] = hash;
}

/** The topmost `level` bits. */
function maskOf(level: number): number {
  return level === 0 ? 0 : -1 << (32 - level);
}

// The two halves of the recordings: detectors may be tuned while looking at one, the score that counts is that of the other.
// The halves follow from names alone, so that nobody chooses.

export type Half = 'tuning' | 'scoring';

/** `source` is what must not be torn apart: a track, a drum kit, a spoken sentence. */
export function halfOf(source: string): Half {
  return hashOf(source) % 2 === 0 ? 'tuning' : 'scoring';
}

/** FNV-1a, 32 bits, then one mixing step, as its lowest bit alone is only a parity. */
export function hashOf(text: string): number {
  let hash = 0x811c_9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x0100_0193);
  return (Math.imul(hash ^ (hash >>> 15), 0x2c1b_3c6d) >>> 12) & 0xf_ffff;
}

// Made-up samples with known truth for file tests: repeatable noise that uses the full width and touches both ends of it.

/** `channels` planes of `frames` samples of `bits` bits; the same seed gives the same planes. */
export function noisePlanes(channels: number, frames: number, bits: number, seed = 1): Int32Array[] {
  const next = randomWords(seed);
  const planes = Array.from({ length: channels }, () =>
    Int32Array.from({ length: frames }, () => next() >> (32 - bits)),
  );
  for (const plane of planes) {
    if (frames > 0) plane[0] = -(2 ** (bits - 1));
    if (frames > 1) plane[frames - 1] = 2 ** (bits - 1) - 1;
  }
  return planes;
}

/** Something that prediction helps with: a slow wave plus a little noise, the channels related to each other. */
export function tonePlanes(channels: number, frames: number, bits: number, seed = 1): Int32Array[] {
  const next = randomWords(seed);
  const top = 2 ** (bits - 1) - 1;
  const size = top * 0.7;
  const grain = Math.max(2, 2 ** (bits - 8));
  return Array.from({ length: channels }, (_, c) =>
    Int32Array.from({ length: frames }, (_, i) =>
      Math.min(top, Math.round(Math.sin(i / 23 + c / 50) * size + (next() / 2 ** 31) * grain)),
    ),
  );
}

/** Signed 32-bit words of a xorshift generator. */
export function randomWords(seed: number): () => number {
  let state = seed | 0 || 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return state;
  };
}

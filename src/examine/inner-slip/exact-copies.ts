// Samples that are exactly those right before them, near a joint: the trace of frames played twice. Pure.

/** x[start..start+length) equals x[start-length..start). */
export interface ExactCopy {
  readonly start: number;
  readonly length: number;
}

/** Copies of 1..longest samples that begin within `reach` of `at`, the longest first. */
export function copiesAt(samples: Int32Array, at: number, longest: number, reach: number): ExactCopy[] {
  const copies: ExactCopy[] = [];
  for (let length = longest; length >= 1; length--) {
    // This sample lies in every long copy that begins within reach: mostly it alone says no.
    if (length > 2 * reach && samples[at + reach] !== samples[at + reach - length]) continue;
    for (let start = at - reach; start <= at + reach; start++) {
      if (isCopy(samples, start, length)) copies.push({ start, length });
    }
  }
  return copies;
}

export function isCopy(samples: Int32Array, start: number, length: number): boolean {
  if (start < length || start + length > samples.length) return false;
  for (let k = 0; k < length; k++) if (samples[start + k] !== samples[start + k - length]) return false;
  return true;
}

/** Generous logarithm of the chance of the longest copy near a joint, by the mean change from sample to sample around. */
export function logChanceOfLongest(samples: Int32Array, at: number, longest: number, reach: number): number {
  const [copy] = copiesAt(samples, at, longest, reach);
  if (!copy) return 0;
  let [sum, or] = [0, 0];
  for (let i = at - longest; i < at + longest; i++) {
    sum += Math.abs(samples[i] - samples[i - 1]);
    or |= samples[i];
  }
  const step = or === 0 ? 1 : or & -or;
  return copy.length * Math.log(0.4 / Math.max(0.4, sum / (2 * longest) / step));
}

// How much more often than reckoned a sound equals itself: the most surprising piece of a copy that its surroundings show at any other lag, against the most
// that so many comparisons bring by chance. Sound of an older word that was brought into a longer one rings after every step of that word in one of a few
// ways; however many values there are, it repeats. Not for finding such pieces wherever they are (repeat-judge.ts leaves sound made of them aside).

/** Samples of the copy that are compared: whatever repeats by itself does so in any part of it. */
const COMPARED = 256;

/**
 * Factor of at least 1 by which `costs` (nats per sample of the copy) are too large. `copy` and `end`: indices of the first sample that has a cost and of the
 * first beyond the last.
 */
export function overstatement(
  samples: Int32Array,
  { copy, end, lag }: { readonly copy: number; readonly end: number; readonly lag: number },
  costs: Float64Array,
): number {
  const length = Math.min(COMPARED, end - copy);
  const sums = new Float64Array(length + 1);
  for (let i = 0; i < length; i++) sums[i + 1] = sums[i] + costs[i];
  let [most, pairs] = [0, 2];
  for (let by = -copy; by + copy < samples.length; by++) {
    // Where the copy is compared with itself or with what it was made from.
    if (by % lag === 0) continue;
    const last = Math.min(length, samples.length - copy - by);
    pairs += last;
    for (let i = 0; i < last; i++) {
      if (samples[copy + i] !== samples[copy + i + by]) continue;
      const from = i;
      while (i < last && samples[copy + i] === samples[copy + i + by]) i++;
      most = Math.max(most, sums[i] - sums[from]);
    }
  }
  // So many comparisons are expected to bring one of one in as many.
  return Math.max(1, most / Math.log(pairs));
}

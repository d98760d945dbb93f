// The levels a comb is looked for in, with how often each occurred. Not for looking (lattice-fit.ts).

export interface Range {
  /** counts[i] belongs to level first + i */
  readonly counts: Float64Array;
  readonly first: number;
  readonly samples: number;
  readonly levels: number;
}

/** All but the outermost samples: the loudest are few, and clipping piles them up. One level that towers over all is cut back. */
export function judgedRange(counts: Float64Array, half: number): Range {
  const spare = sumOf(counts) / 2000;
  let low = 0;
  for (let sum = counts[0]; low < counts.length - 1 && sum <= spare; sum += counts[low]) low++;
  let high = counts.length - 1;
  for (let sum = counts[high]; high > low && sum <= spare; sum += counts[high]) high--;
  const kept = counts.slice(low + 1, Math.max(low + 1, high));
  for (let pass = 0; pass < 3; pass++) cutTallest(kept);
  return { counts: kept, first: low + 1 - half, samples: sumOf(kept), levels: kept.length };
}

/** At most so many levels around the middle sample. */
export function middleOf(range: Range, most: number): Range {
  if (range.levels <= most) return range;
  let middle = 0;
  for (let sum = 0; 2 * sum < range.samples; middle++) sum += range.counts[middle];
  const from = Math.max(0, Math.min(range.levels - most, middle - most / 2));
  const counts = range.counts.subarray(from, from + most);
  return { counts, first: range.first + from, samples: sumOf(counts), levels: most };
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return sum;
}

/** Digital silence and the like: one value far above every other within reach says nothing of the rest. */
function cutTallest(counts: Float64Array): void {
  let tallest = 0;
  for (let i = 1; i < counts.length; i++) if (counts[i] > counts[tallest]) tallest = i;
  let next = 0;
  for (let i = Math.max(0, tallest - 1024); i < Math.min(counts.length, tallest + 1025); i++) {
    if (i !== tallest && counts[i] > next) next = counts[i];
  }
  if (counts[tallest] > 2 * next) counts[tallest] = next;
}

/** Variance of the counts over their mean, from each level against the mean of its two neighbours; 1 for independent samples. */
export function dispersionOf({ counts }: Range): number {
  let sum = 0;
  let expected = 0;
  for (let i = 1; i + 1 < counts.length; i++) {
    sum += (counts[i] - (counts[i - 1] + counts[i + 1]) / 2) ** 2 / 1.5;
    expected += (counts[i - 1] + counts[i] + counts[i + 1]) / 3;
  }
  return expected === 0 ? 1 : Math.max(1, sum / expected);
}

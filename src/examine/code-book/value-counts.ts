// Two counts of values as one, and what a count says of the low bits. Not for counting (signal/code-set.ts).
import { StepCounter, type ValueCounts } from '../../signal/index.ts';

/** Of the same word length. */
export function mergedCounts(a: ValueCounts, b: ValueCounts): ValueCounts {
  const values = new Int32Array(a.values.length + b.values.length);
  const counts = new Float64Array(values.length);
  let n = 0;
  for (let i = 0, j = 0; i < a.values.length || j < b.values.length; n++) {
    const value = Math.min(a.values[i] ?? Number.POSITIVE_INFINITY, b.values[j] ?? Number.POSITIVE_INFINITY);
    values[n] = value;
    if (a.values[i] === value) counts[n] += a.counts[i++];
    if (b.values[j] === value) counts[n] += b.counts[j++];
  }
  return {
    bits: a.bits,
    values: values.slice(0, n),
    counts: counts.slice(0, n),
    samples: a.samples + b.samples,
    outOfRange: a.outOfRange + b.outOfRange,
  };
}

/** Low bits that all but two in a hundred of the samples that are not zero leave unused. */
export function unusedBitsOf({ values, counts, samples }: ValueCounts): number {
  const steps = new StepCounter();
  steps.samples = samples;
  steps.zeros = samples;
  for (let i = 0; i < values.length; i++) {
    const value = values[i];
    if (value === 0) continue;
    steps.trailingZeros[31 - Math.clz32(value & -value)] += counts[i];
    steps.zeros -= counts[i];
  }
  return steps.stepExponent(0.98);
}

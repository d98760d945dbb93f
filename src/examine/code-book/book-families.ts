// The laws that are weighed, and where in the container their words may stand. Not for weighing them (signal/book-evidence.ts).
import type { SegmentLaw } from '../../base/index.ts';
import type { ValueCounts } from '../../signal/index.ts';
import { allEightMmBreaks, eightMm, nonlinear12, withMidStep } from '../../tape/index.ts';

export interface Family {
  readonly name: string;
  /** of equal word length */
  readonly laws: readonly SegmentLaw[];
}

let known: readonly Family[] | undefined;

/** Laws of tape formats: the 12-bit law, and the 8 mm law with every possible set of break points (none is proven). */
export function families(): readonly Family[] {
  // Made once: their books are kept with them.
  known ??= makeFamilies();
  return known;
}

function makeFamilies(): readonly Family[] {
  const variants = (laws: readonly SegmentLaw[]) => [...laws, ...laws.map(withMidStep)];
  const eight = allEightMmBreaks().flatMap((breaks) => [
    eightMm({ breaks }),
    eightMm({ breaks, mirror: 'sign-magnitude' }),
  ]);
  return [
    { name: '12-bit nonlinear', laws: variants([nonlinear12]) },
    { name: '8 mm', laws: variants(eight) },
  ];
}

/** Left-justified, and as far right as the unused low bits of the samples allow. */
export function shiftsOf({ laws }: Family, bits: number, unusedBits: number): number[] {
  const top = bits - laws[0].linearBits;
  return [...new Set([top, Math.min(top, unusedBits)])].filter((shift) => shift >= 0);
}

/** Share of samples that no word of the family's length can hold: with many, the family is out before any law is weighed. */
export function outsideWord(set: ValueCounts, { laws }: Family, shift: number): number {
  const half = 2 ** (laws[0].linearBits - 1);
  let outside = set.outOfRange;
  for (let i = 0; i < set.values.length; i++) {
    const level = set.values[i] / 2 ** shift;
    if (!Number.isInteger(level) || level < -half || level >= half) outside += set.counts[i];
  }
  return outside / Math.max(1, set.samples);
}

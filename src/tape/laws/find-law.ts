// Laws by id, and the half-step variant of any law. Not for computing with them.
import { type SegmentLaw, TapeproofError } from '../../base/index.ts';
import { EIGHT_MM_DEFAULT_BREAKS, EIGHT_MM_RIVAL_BREAKS, type EightMmBreaks, eightMm } from './eight-mm.ts';
import { g711ALaw, g711MuLaw } from './g711.ts';
import { nonlinear12 } from './nonlinear-12.ts';

/**
 * `nonlinear-12`, `eight-mm` (default break points), `eight-mm-32-64-256` (any valid break points), `g711-a-law`, `g711-mu-law`;
 * `-sign-magnitude` and then `-mid-step` may follow the 8 mm ids, `-mid-step` alone the 12-bit id. Throws `input` for anything else.
 */
export function findLaw(id: string): SegmentLaw {
  const midStep = /^(.*)-mid-step$/.exec(id);
  if (midStep) return withMidStep(findLaw(midStep[1]));
  const named = [nonlinear12, g711ALaw, g711MuLaw].find((law) => law.id === id);
  if (named) return named;
  const eight = /^eight-mm(?:-(\d+)-(\d+)-(\d+))?(-sign-magnitude)?$/.exec(id);
  if (!eight) throw unknownLaw(id);
  const breaks: EightMmBreaks = eight[1] ? [+eight[1], +eight[2], +eight[3]] : EIGHT_MM_DEFAULT_BREAKS;
  return eightMm({ breaks, mirror: eight[4] ? 'sign-magnitude' : 'not' });
}

/** The laws a tape may carry, likeliest first within each family; the G.711 laws are left out. */
export function listTapeLaws(): readonly SegmentLaw[] {
  return [nonlinear12, eightMm(), eightMm({ breaks: EIGHT_MM_RIVAL_BREAKS })];
}

/** The same law with each code expanded to the middle of its interval. Returns a law already so unchanged. */
export function withMidStep(law: SegmentLaw): SegmentLaw {
  if (law.expansion === 'mid-step') return law;
  return Object.freeze({
    ...law,
    id: `${law.id}-mid-step`,
    label: `${law.label}, half a step added`,
    expansion: 'mid-step',
  });
}

function unknownLaw(id: string): TapeproofError {
  return new TapeproofError('input', `no companding law is called "${id}"`, {
    expected: 'nonlinear-12, eight-mm, eight-mm-A-B-C with break points A, B, C, g711-a-law or g711-mu-law',
    next: 'leave the law out to let the format choose it',
  });
}

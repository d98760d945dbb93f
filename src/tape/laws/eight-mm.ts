// The 10-to-8-bit law of 8 mm PCM: four segments with steps 1, 2, 4, 8 (R6, certainty T) whose break points no readable source gives.
// So the break points are a parameter: a default and a rival are shipped (both certainty M), and a capture can decide.
import { type LawMirror, type SegmentLaw, TapeproofError } from '../../base/index.ts';

/** First 10-bit magnitudes of the segments with step 2, 4 and 8. */
export type EightMmBreaks = readonly [number, number, number];

/** Certainty M: remembered, continuous, 128 codes, not proven. */
export const EIGHT_MM_DEFAULT_BREAKS: EightMmBreaks = Object.freeze([16, 64, 320] as const);
/** The only continuous set with three powers of two; certainty M, the rival. */
export const EIGHT_MM_RIVAL_BREAKS: EightMmBreaks = Object.freeze([32, 64, 256] as const);

export interface EightMmOptions {
  readonly breaks?: EightMmBreaks;
  /** how negative values mirror is not known either: `not` is assumed, `sign-magnitude` is the rival */
  readonly mirror?: LawMirror;
}

/**
 * The law for given break points a < b < c. Throws `input` unless 4a + 2b + c = 512, with b - a and c - b whole numbers of
 * steps: only then are the 128 code magnitudes used up exactly at magnitude 511.
 */
export function eightMm(options: EightMmOptions = {}): SegmentLaw {
  const breaks = options.breaks ?? EIGHT_MM_DEFAULT_BREAKS;
  const [a, b, c] = breaks;
  if (!areEightMmBreaks(breaks)) {
    throw new TapeproofError('input', 'not break points of a four-segment 10-to-8-bit law', {
      expected: 'a < b < c with 4a + 2b + c = 512, b - a a multiple of 2 and c - b a multiple of 4, as in 16, 64, 320',
      found: breaks.join(', '),
    });
  }
  const mirror = options.mirror ?? 'not';
  const codeB = a + (b - a) / 2;
  return Object.freeze({
    id: `eight-mm-${breaks.join('-')}${mirror === 'not' ? '' : '-sign-magnitude'}`,
    label: `8 mm PCM (10 to 8 bits, break points ${breaks.join(', ')})`,
    linearBits: 10,
    codeBits: 8,
    mirror,
    expansion: 'lower-edge',
    codeXor: 0,
    segments: Object.freeze([
      { from: 0, code: 0, step: 1 },
      { from: a, code: a, step: 2 },
      { from: b, code: codeB, step: 4 },
      { from: c, code: codeB + (c - b) / 4, step: 8 },
    ]),
  } as const);
}

export function areEightMmBreaks([a, b, c]: EightMmBreaks): boolean {
  const whole = [a, b, c].every((value) => Number.isSafeInteger(value) && value > 0 && value < 512);
  return whole && a < b && b < c && 4 * a + 2 * b + c === 512 && (b - a) % 2 === 0 && (c - b) % 4 === 0;
}

/** Every possible set of break points, ascending; what a fit has to choose from. */
export function allEightMmBreaks(): readonly EightMmBreaks[] {
  const found: EightMmBreaks[] = [];
  for (let a = 2; a < 128; a += 2) {
    for (let b = 4 * Math.ceil((a + 1) / 4); b < 256; b += 4) {
      const breaks: EightMmBreaks = [a, b, 512 - 4 * a - 2 * b];
      if (areEightMmBreaks(breaks)) found.push(breaks);
    }
  }
  return found;
}

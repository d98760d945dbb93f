// The plain shape of a companding law: segments of constant step, as data that tape/ writes down and signal/ computes with.
// Not for the arithmetic (signal/companding.ts) and not for which format uses which law (tape/laws/).

/** One straight piece of a law: magnitudes `from + k * step` and above carry code magnitude `code + k`. */
export interface LawSegment {
  /** first linear magnitude of the segment, in steps of the linear word; -1 where a code is centred on zero */
  readonly from: number;
  /** first code magnitude */
  readonly code: number;
  /** linear steps per code */
  readonly step: number;
}

/**
 * `not`: a negative value is the bitwise NOT of a positive one, f(x) = ~f(~x); code words are two's complement.
 * `sign-magnitude`: a negative value is the minus of a positive one; the top bit of the code word is the sign, and there are two zeros.
 */
export type LawMirror = 'not' | 'sign-magnitude';

/** `lower-edge`: a code becomes the value of its interval nearest zero; `mid-step`: half a step (rounded down) is added. */
export type LawExpansion = 'lower-edge' | 'mid-step';

/** Segments ascend and are continuous; the last one ends where the code magnitudes are used up. */
export interface SegmentLaw {
  readonly id: string;
  readonly label: string;
  /** bits of the linear word, sign included, at most 24 */
  readonly linearBits: number;
  /** bits of the code word, sign included, at most 16 */
  readonly codeBits: number;
  readonly mirror: LawMirror;
  readonly expansion: LawExpansion;
  /** pattern XORed onto the code word for the wire; 0 where none is */
  readonly codeXor: number;
  readonly segments: readonly LawSegment[];
}

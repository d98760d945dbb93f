// The 12-bit nonlinear law of 32 kHz recordings (long play and four channels). Data only; signal/companding.ts computes with it.
import type { SegmentLaw } from '../../base/index.ts';

/**
 * 16-bit words to 12-bit words in seven segments. Source R21: RFC 3190, table 1, which quotes IEC 61119; certainty S.
 * Expansion to the lower edge is what libraries do; a deck may add half a step, see `withMidStep`.
 */
export const nonlinear12: SegmentLaw = Object.freeze({
  id: 'nonlinear-12',
  label: '12-bit nonlinear (16 to 12 bits, seven segments)',
  linearBits: 16,
  codeBits: 12,
  mirror: 'not',
  expansion: 'lower-edge',
  codeXor: 0,
  segments: Object.freeze([
    { from: 0, code: 0x000, step: 1 },
    { from: 512, code: 0x200, step: 2 },
    { from: 1024, code: 0x300, step: 4 },
    { from: 2048, code: 0x400, step: 8 },
    { from: 4096, code: 0x500, step: 16 },
    { from: 8192, code: 0x600, step: 32 },
    { from: 16384, code: 0x700, step: 64 },
  ]),
} as const);

// The two general laws of ITU-T G.711, here to check the machinery against published tables. No tape format uses them.
import type { SegmentLaw } from '../../base/index.ts';

/** 13-bit linear; times 8 it is the usual 16-bit scale (largest value 32256). ITU-T G.711 table 1; checked against three decoders. */
export const g711ALaw: SegmentLaw = Object.freeze({
  id: 'g711-a-law',
  label: 'ITU-T G.711 A-law',
  linearBits: 13,
  codeBits: 8,
  mirror: 'sign-magnitude',
  expansion: 'mid-step',
  codeXor: 0xd5,
  segments: Object.freeze([
    { from: 0, code: 0, step: 2 },
    { from: 64, code: 32, step: 4 },
    { from: 128, code: 48, step: 8 },
    { from: 256, code: 64, step: 16 },
    { from: 512, code: 80, step: 32 },
    { from: 1024, code: 96, step: 64 },
    { from: 2048, code: 112, step: 128 },
  ]),
} as const);

/** 14-bit linear; times 4 it is the usual 16-bit scale (largest value 32124). Code 0 is centred on zero, hence `from: -1`. Table 2. */
export const g711MuLaw: SegmentLaw = Object.freeze({
  id: 'g711-mu-law',
  label: 'ITU-T G.711 mu-law',
  linearBits: 14,
  codeBits: 8,
  mirror: 'sign-magnitude',
  expansion: 'mid-step',
  codeXor: 0xff,
  segments: Object.freeze([
    { from: -1, code: 0, step: 2 },
    { from: 31, code: 16, step: 4 },
    { from: 95, code: 32, step: 8 },
    { from: 223, code: 48, step: 16 },
    { from: 479, code: 64, step: 32 },
    { from: 991, code: 80, step: 64 },
    { from: 2015, code: 96, step: 128 },
    { from: 4063, code: 112, step: 256 },
  ]),
} as const);

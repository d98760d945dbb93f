// Arithmetic of segment laws: linear word to code word and back, whole tables, and the set of values a law can produce.
// Not for naming laws (they come in as data) and not for judging recordings (code-set.ts).
import type { LawSegment, SegmentLaw } from '../base/index.ts';

/** The code word (bit pattern, 0 .. 2^codeBits - 1) for a linear value; values beyond the law's range are clamped. */
export function compress(law: SegmentLaw, x: number): number {
  const negative = x < 0;
  const magnitude = negative ? mirrored(law, x) : x;
  const code = codeMagnitude(law, magnitude);
  return wireWord(law, code, negative) ^ law.codeXor;
}

/** The linear value of a code word. Only the low `codeBits` bits are read, so -1 and 0xFFF are the same 12-bit word. */
export function expand(law: SegmentLaw, code: number): number {
  const word = (code ^ law.codeXor) & (2 ** law.codeBits - 1);
  const half = 2 ** (law.codeBits - 1);
  if (word < half) return linearMagnitude(law, word);
  if (law.mirror === 'not') return ~linearMagnitude(law, ~(word - 2 * half));
  const magnitude = linearMagnitude(law, word - half);
  return magnitude === 0 ? 0 : -magnitude;
}

/** Linear value of every code word, indexed by the word's bit pattern. There are thousands of laws: by segments, not word by word. */
export function expandTable(law: SegmentLaw): Int32Array {
  const magnitudes = linearMagnitudes(law);
  const half = magnitudes.length;
  const table = new Int32Array(2 * half);
  for (let word = 0; word < half; word++) {
    const magnitude = magnitudes[word];
    table[word ^ law.codeXor] = magnitude;
    if (law.mirror === 'not') table[(2 * half - 1 - word) ^ law.codeXor] = ~magnitude;
    else table[(half + word) ^ law.codeXor] = -magnitude;
  }
  return table;
}

/** By code magnitude. */
export function linearMagnitudes({ segments, codeBits, expansion }: SegmentLaw): Int32Array {
  const half = 2 ** (codeBits - 1);
  const magnitudes = new Int32Array(half);
  for (const [k, { from, code, step }] of segments.entries()) {
    const end = Math.min(half, segments[k + 1]?.code ?? half);
    const within = expansion === 'mid-step' ? step >> 1 : 0;
    for (let at = Math.max(0, k === 0 ? 0 : code); at < end; at++) magnitudes[at] = from + (at - code) * step + within;
  }
  return magnitudes;
}

/** Code word of every linear value, indexed by the value's low `linearBits` bits. */
export function compressTable(law: SegmentLaw): Int32Array {
  const size = 2 ** law.linearBits;
  return Int32Array.from({ length: size }, (_, bits) => compress(law, bits < size / 2 ? bits : bits - size));
}

/** The code words of a law as signed numbers in the order of the values they stand for, so that a mean of two of them makes sense. */
export interface CodeNumbers {
  /** of a linear value within the law's word */
  readonly of: (x: number) => number;
  readonly expand: (code: number) => number;
}

export function codeNumbers(law: SegmentLaw): CodeNumbers {
  const toWord = compressTable(law);
  const toLinear = expandTable(law);
  const linearMask = toWord.length - 1;
  const wordMask = toLinear.length - 1;
  const half = toLinear.length / 2;
  const isNot = law.mirror === 'not';
  const of = (x: number) => {
    const word = toWord[x & linearMask] ^ law.codeXor;
    if (word < half) return word;
    return isNot ? word - 2 * half : half - word;
  };
  const expand = (code: number) => {
    const word = code >= 0 ? code : isNot ? code + 2 * half : half - code;
    return toLinear[(word ^ law.codeXor) & wordMask];
  };
  return { of, expand };
}

/** Every linear value the law can produce, ascending, each once. */
export function codeBook(law: SegmentLaw): Int32Array {
  const sorted = expandTable(law).sort();
  let n = 0;
  for (let i = 0; i < sorted.length; i++) if (i === 0 || sorted[i] !== sorted[i - 1]) sorted[n++] = sorted[i];
  return sorted.slice(0, n);
}

/**
 * One table look-up per sample, for either table above; `output` may be `input`.
 * Precondition for compressing: the samples fit the law's linear word.
 */
export function lookUpBlock(
  table: Int32Array,
  input: Int32Array,
  output: Int32Array,
  count: number = input.length,
): void {
  const mask = table.length - 1;
  for (let n = 0; n < count; n++) output[n] = table[input[n] & mask];
}

/** Through the law and back at the scale of a wider container: the low `shift` bits are dropped, the value returns left-justified. */
export function roundTrip(law: SegmentLaw, x: number, shift = 0): number {
  return expand(law, compress(law, x >> shift)) << shift;
}

function mirrored(law: SegmentLaw, x: number): number {
  return law.mirror === 'not' ? ~x : -x;
}

function codeMagnitude(law: SegmentLaw, magnitude: number): number {
  const { from, code, step } = segmentOf(law.segments, (segment) => segment.from <= magnitude);
  return Math.min(code + Math.floor((magnitude - from) / step), 2 ** (law.codeBits - 1) - 1);
}

function linearMagnitude(law: SegmentLaw, magnitude: number): number {
  const { from, code, step } = segmentOf(law.segments, (segment) => segment.code <= magnitude);
  const edge = from + (magnitude - code) * step;
  return law.expansion === 'mid-step' ? edge + (step >> 1) : edge;
}

/** The last segment that has begun; the first one begins at or below zero. */
function segmentOf(segments: readonly LawSegment[], hasBegun: (segment: LawSegment) => boolean): LawSegment {
  let found = segments[0];
  for (const segment of segments) {
    if (!hasBegun(segment)) break;
    found = segment;
  }
  return found;
}

function wireWord(law: SegmentLaw, code: number, negative: boolean): number {
  const mask = 2 ** law.codeBits - 1;
  if (!negative) return code;
  return law.mirror === 'not' ? ~code & mask : code + 2 ** (law.codeBits - 1);
}

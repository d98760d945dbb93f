// What is on the tape: a programme at the format's rate, in words of the format's length, through its companding law;
// and what an undamaged deck gives back. Not for tracks, interleaving or error codes: those happen before and after.
import { type Rate, type SegmentLaw, sameRate } from '../base/index.ts';
import { codeNumbers, resample } from '../signal/index.ts';

/** Samples in memory: signed integers of `bits` width, one plane per channel. */
export interface Sound {
  readonly planes: readonly Int32Array[];
  readonly bits: number;
  readonly rate: Rate;
}

export interface TapeWords {
  readonly rate: Rate;
  /** bits of the linear word on the tape; a law brings its own */
  readonly wordBits: number;
  /** width of the deck's output word, >= wordBits; the word lies left-justified in it */
  readonly outputBits: number;
  readonly law?: SegmentLaw | undefined;
  /** how the converter shortens the word: 'truncate' drops bits (rounds down), 'round' to nearest. Default truncate */
  readonly shorten?: 'truncate' | 'round';
}

export interface TapeRecording extends Sound {
  /** bits of the linear word inside `planes` */
  readonly wordBits: number;
  /** signed code numbers, in the order of the values they stand for; absent without a law */
  readonly codes?: readonly Int32Array[] | undefined;
  /** code number -> output sample */
  readonly expand?: ((code: number) => number) | undefined;
}

/** Full scale stays full scale; values beyond the tape's range are clamped. */
export function encodeTape(programme: Sound, words: TapeWords): TapeRecording {
  const wordBits = words.law?.linearBits ?? words.wordBits;
  const linear = programme.planes.map((plane) =>
    shortenWord(atRate(plane, programme, words.rate), programme.bits, wordBits, words.shorten ?? 'truncate'),
  );
  const shift = words.outputBits - wordBits;
  if (shift < 0) throw new Error(`a ${wordBits}-bit word does not fit an output of ${words.outputBits} bits`);
  const base = { bits: words.outputBits, rate: words.rate, wordBits };
  if (!words.law) return { ...base, planes: linear.map((plane) => plane.map((x) => x << shift)) };
  const numbers = codeNumbers(words.law);
  const expand = (code: number) => numbers.expand(code) << shift;
  const codes = linear.map((plane) => plane.map(numbers.of));
  return { ...base, planes: codes.map((plane) => plane.map(expand)), codes, expand };
}

function atRate(plane: Int32Array, from: Sound, to: Rate): Int32Array {
  if (sameRate(from.rate, to)) return plane;
  const ratio = { num: to.num * from.rate.den, den: to.den * from.rate.num };
  const top = 2 ** (from.bits - 1);
  return Int32Array.from(resample(Float64Array.from(plane), ratio), (x) =>
    Math.max(-top, Math.min(top - 1, Math.round(x))),
  );
}

function shortenWord(plane: Int32Array, from: number, to: number, how: 'truncate' | 'round'): Int32Array {
  const shift = from - to;
  if (shift <= 0) return plane.map((x) => x << -shift);
  if (how === 'truncate') return plane.map((x) => x >> shift);
  const half = 1 << (shift - 1);
  const top = 2 ** (to - 1) - 1;
  return plane.map((x) => Math.min(top, (x + half) >> shift));
}

// Which cell stands at a mark: its words read as 96 soft bits, by their checksum (nothing known of the signal) or against the words of every cell of a
// known signal. Not for finding marks (mark-scan.ts).
import type { RealResampler } from '../../../signal/index.ts';
import { chipsOf } from '../chips.ts';
import { type CellName, cellBits, readCellBits } from '../identity.ts';
import { CHIPS_PER_BIT, type ChainSignal, MARK_FRAMES, SIGNAL_CHANNELS, WORD_BITS, WORD_FRAMES } from '../layout.ts';

/** Bits read together, how far their place may lie from that of the group before, and from where the mark says in all. */
const GROUP_BITS = 8;
const WANDER = 2;
const SLACK = 16;

export interface SoftWords {
  /** sum over the chips of each bit; positive for 1 */
  readonly bits: Float64Array;
  /** root of the energy of the stretch */
  readonly size: number;
}

export interface CellGuess {
  readonly cell: number;
  /** -1 to 1 against the words of that cell */
  readonly likeness: number;
}

export interface WordReader {
  /** `markFrame` in the plane, may be fractional; `ratio` captured frames for each sent one. Undefined where the plane ends before. */
  read(plane: Int32Array, markFrame: number, ratio: number, source: number): SoftWords | undefined;
}

export function wordReader(resampler: RealResampler): WordReader {
  const chips = Array.from({ length: SIGNAL_CHANNELS }, (_, source) => chipsOf(source).words);
  return {
    read(plane, markFrame, ratio, source) {
      const start = markFrame + (MARK_FRAMES - SLACK) * ratio;
      if (start < 0 || start + (WORD_FRAMES + 2 * SLACK) * ratio > plane.length) return undefined;
      return softWords(sampled(plane, start, ratio, resampler), chips[source]);
    },
  };
}

/** By the checksum; turned polarity is tried too. */
export function namedCell({ bits }: SoftWords): CellName | undefined {
  const upright = [...bits].map((value) => (value > 0 ? 1 : 0));
  return readCellBits(upright) ?? readCellBits(upright.map((bit) => 1 - bit));
}

/** Compares with every cell of a signal: the one that is most alike, of either polarity. */
export function cellGuesser(signal: ChainSignal): (words: SoftWords) => CellGuess {
  const signs = Array.from({ length: signal.cells }, (_, cell) => signsOf({ signal, cell }));
  return ({ bits, size }) => {
    let best: CellGuess = { cell: 0, likeness: 0 };
    for (let cell = 0; cell < signs.length; cell++) {
      let sum = 0;
      for (let k = 0; k < WORD_BITS; k++) sum += bits[k] * signs[cell][k];
      const likeness = size > 0 ? sum / (size * Math.sqrt(WORD_FRAMES)) : 0;
      if (Math.abs(likeness) > Math.abs(best.likeness)) best = { cell, likeness };
    }
    return best;
  };
}

function signsOf(name: CellName): Int8Array {
  return Int8Array.from(cellBits(name), (bit) => (bit ? 1 : -1));
}

/** The words' stretch at the sent rate. */
function sampled(plane: Int32Array, start: number, ratio: number, resampler: RealResampler): Float64Array {
  const frames = WORD_FRAMES + 2 * SLACK;
  if (ratio === 1 && Number.isInteger(start)) return Float64Array.from(plane.subarray(start, start + frames));
  const from = Math.max(0, Math.floor(start) - 64);
  const part = Float64Array.from(plane.subarray(from, Math.ceil(start + frames * ratio) + 64));
  return resampler(part, start - from, ratio, frames);
}

/**
 * Group by group, each read where its chips are clearest: the ratio of the search is only near, and frames may be missing. The stretch begins `SLACK`
 * frames before the words.
 */
function softWords(stretch: Float64Array, chips: Int8Array): SoftWords {
  const bits = new Float64Array(WORD_BITS);
  const plain = withoutMean(stretch);
  let place = SLACK;
  for (let group = 0; group < WORD_BITS; group += GROUP_BITS) {
    let most = -1;
    const about = place;
    for (let at = Math.max(0, about - WANDER); at <= Math.min(2 * SLACK, about + WANDER); at++) {
      const sums = groupBits(plain, chips, group, at);
      const clear = sums.reduce((sum, x) => sum + Math.abs(x), 0);
      if (clear <= most) continue;
      most = clear;
      place = at;
      bits.set(sums, group);
    }
  }
  return { bits, size: Math.sqrt(plain.subarray(SLACK, SLACK + WORD_FRAMES).reduce((sum, x) => sum + x * x, 0)) };
}

function groupBits(stretch: Float64Array, chips: Int8Array, group: number, at: number): Float64Array {
  return Float64Array.from({ length: GROUP_BITS }, (_, k) => {
    const from = (group + k) * CHIPS_PER_BIT;
    let sum = 0;
    for (let n = from; n < from + CHIPS_PER_BIT; n++) sum += stretch[at + n] * chips[n];
    return sum;
  });
}

function withoutMean(stretch: Float64Array): Float64Array {
  const mean = stretch.reduce((a, b) => a + b, 0) / stretch.length;
  return stretch.map((x) => x - mean);
}

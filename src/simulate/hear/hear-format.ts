// What a recording would sound like through a tape format: filters and rate, word or law, losses with their concealment, and back to the rate it
// had. Streams in pieces of fixed length, so memory does not grow and nothing depends on how the source is read. A derivative for ears, no evidence:
// the analogue noise reduction around some formats and the sound of their converters are not known and not simulated.

import type { SegmentLaw } from '../../base/index.ts';
import { type Block, type FrameSource, type Rate, rateHz, type StopSignal, throwIfStopped } from '../../base/index.ts';
import { resample } from '../../signal/index.ts';
import { COMMON_POLICY, conceal } from '../conceal.ts';
import { damageOf } from '../damage.ts';
import { encodeTape } from '../encode.ts';
import { type HeardDamage, lossesWithin } from './heard-damage.ts';

export interface HeardFormat {
  readonly rate: Rate;
  /** bits of the linear word */
  readonly wordBits: number;
  readonly law?: SegmentLaw | undefined;
  readonly damage: HeardDamage;
}

export interface HearOptions {
  /** gain ahead of the format, dB, taken off again behind it: how loud it was recorded. Default 0 */
  readonly recordDb?: number;
  /** factor of the output */
  readonly gain?: number;
  readonly stop?: StopSignal | undefined;
}

/** Width of the samples that come out. */
export const HEARD_BITS = 24;
const PIECE_SECONDS = 10;
/** Overlap on both sides of a piece: filters and concealment need what lies around. */
const MARGIN_SECONDS = 0.5;
/** Converter filters: flat to about nine tenths of the band, 80 dB down beyond it (a choice; real ones differ). */
const FILTER = { halfTaps: 32, attenuationDb: 80 };

/** Blocks of the same rate, channels and length as the source, in `HEARD_BITS` bits; samples beyond full scale are clipped. */
export async function* hearFormat(
  source: FrameSource,
  format: HeardFormat,
  options: HearOptions = {},
): AsyncGenerator<Block> {
  const { frames, rate } = source.info;
  const ratio = ratioOf(format.rate, rate);
  // pieces of whole ratios: both rates have a frame at every edge
  const unit = (seconds: number) => Math.max(1, Math.ceil((seconds * rateHz(rate)) / ratio.den));
  const [piece, margin] = [unit(PIECE_SECONDS) * ratio.den, unit(MARGIN_SECONDS) * ratio.den];
  for (let start = 0; start < frames; start += piece) {
    throwIfStopped(options.stop);
    const wanted = Math.min(piece, frames - start);
    const planes = await readPadded(source, start - margin, wanted + 2 * margin);
    const heard = hearPiece(planes, source, format, options, start - margin, ratio);
    yield {
      start,
      frames: wanted,
      planes: heard.map((plane) => toIntegers(plane, margin, wanted, options.gain ?? 1)),
    };
  }
}

interface Ratio {
  readonly num: number;
  readonly den: number;
}

/** Tape frames per source frame. */
function ratioOf(tape: Rate, source: Rate): Ratio {
  let [num, den] = [tape.num * source.den, tape.den * source.num];
  let [a, b] = [num, den];
  while (b) [a, b] = [b, a % b];
  num /= a;
  den /= a;
  return { num, den };
}

/** Fractions of full scale; silence before the start and after the end. */
async function readPadded(source: FrameSource, start: number, frames: number): Promise<Float64Array[]> {
  const block = await source.read(Math.max(0, start), frames + Math.min(0, start));
  const scale = 2 ** (1 - source.info.bits);
  return block.planes.map((plane) => {
    const out = new Float64Array(frames);
    for (let n = 0; n < block.frames; n++) out[block.start - start + n] = plane[n] * scale;
    return out;
  });
}

function hearPiece(
  planes: readonly Float64Array[],
  source: FrameSource,
  format: HeardFormat,
  { recordDb = 0 }: HearOptions,
  start: number,
  ratio: Ratio,
): Float64Array[] {
  const isSame = ratio.num === ratio.den;
  const gain = 10 ** (recordDb / 20);
  const top = 2 ** (HEARD_BITS - 1);
  const words = planes.map((plane) => {
    const atTape = isSame ? plane : resample(plane, ratio, FILTER);
    return Int32Array.from(atTape, (x) => Math.max(-top, Math.min(top - 1, Math.round(x * gain * top))));
  });
  const { wordBits, law } = format;
  const tape = encodeTape(
    { planes: words, bits: HEARD_BITS, rate: format.rate },
    { rate: format.rate, wordBits, outputBits: HEARD_BITS, law, shorten: 'round' },
  );
  const at = Math.round((start * ratio.num) / ratio.den);
  const losses = lossesWithin(format.damage, at, words[0]?.length ?? 0, source.info.channels, format.rate);
  const played =
    losses.length === 0
      ? tape.planes
      : conceal(tape, damageOf(words.length, words[0].length, [losses]), COMMON_POLICY).planes;
  return played.map((plane) => {
    const back = Float64Array.from(plane, (x) => x / top / gain);
    return isSame ? back : resample(back, { num: ratio.den, den: ratio.num }, FILTER);
  });
}

function toIntegers(plane: Float64Array, from: number, frames: number, gain: number): Int32Array {
  const top = 2 ** (HEARD_BITS - 1);
  const out = new Int32Array(frames);
  for (let n = 0; n < frames; n++) {
    out[n] = Math.max(-top, Math.min(top - 1, Math.round((plane[from + n] ?? 0) * gain * top)));
  }
  return out;
}

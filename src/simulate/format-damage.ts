// Losses in the rhythm of a format: a head gone for a while, or one unit (field, track, frame) lost. The patterns are data
// of tape/; here they are laid over a recording. Not for losses by chance (random-damage.ts).
import { isLost, type LossPattern, lossMask, type TapeFormat } from '../tape/index.ts';
import type { Loss } from './damage.ts';

export interface HeadLoss {
  readonly pattern: LossPattern;
  /** tape channels (1-based) that carry the pattern's channels 1, 2, ..; several programmes need several calls */
  readonly channels: readonly number[];
  readonly start: number;
  readonly length: number;
  /** recording frame at which the format's count begins (sample 0 of a frame or of the running cycle). Default 0 */
  readonly origin?: number;
  /** samples per channel of successive frames, repeated in turn, for patterns that restart with every frame */
  readonly frameLengths?: readonly number[];
}

/** The losses while one head is away, or one lost track where the pattern says so; one loss per channel. */
export function headLosses(loss: HeadLoss): Loss[] {
  const place = placeOf(loss);
  const { pattern } = loss;
  return loss.channels.map((channel, k): Loss => {
    const masks = pattern.cycles.map((_, unit) => lossMask(pattern, k + 1, unit));
    return {
      channel,
      start: loss.start,
      length: loss.length,
      pattern: pattern.id,
      cause: pattern.label,
      lost: (frame) => {
        const { n, unit } = place(frame);
        return masks[unit % masks.length][n % pattern.period] === 1;
      },
    };
  });
}

/**
 * One occurrence of a pattern: for a running cycle one period, begun after its longest good stretch, so that the loss is
 * whole (one field); for a pattern that restarts, the unit-th frame.
 */
export function unitLosses(loss: Omit<HeadLoss, 'start' | 'length'>, unit: number): Loss[] {
  const origin = loss.origin ?? 0;
  const { pattern } = loss;
  if (pattern.restarts === 'never') {
    const start = origin + unit * pattern.period + wholeStart(pattern, loss.channels.length);
    return headLosses({ ...loss, start, length: pattern.period });
  }
  const lengths = lengthsOf(loss);
  let start = origin;
  for (let k = 0; k < unit; k++) start += lengths[k % lengths.length];
  return headLosses({ ...loss, start, length: lengths[unit % lengths.length] });
}

/**
 * Samples per channel of successive frames of a format: its known cycle, else lengths that keep the mean exactly (any
 * order within a cycle is a guess). Undefined for formats without frames.
 */
export function frameLengthsOf(format: TapeFormat): readonly number[] | undefined {
  const length = format.units.find((unit) => unit.name === 'frame')?.length.value;
  if (!length) return undefined;
  const { num, den } = length.mean;
  const upTo = (k: number) => Math.floor((k * num) / den);
  return length.cycle ?? Array.from({ length: den }, (_, k) => upTo(k + 1) - upTo(k));
}

/** Sample number within the unit, and the unit, of a recording frame. */
function placeOf(loss: HeadLoss): (frame: number) => { n: number; unit: number } {
  const origin = loss.origin ?? 0;
  const { pattern } = loss;
  if (pattern.restarts === 'never') {
    return (frame) => ({ n: modulo(frame - origin, pattern.period), unit: 0 });
  }
  const lengths = lengthsOf(loss);
  const round = lengths.reduce((a, b) => a + b, 0);
  return (frame) => {
    const turn = Math.floor((frame - origin) / round);
    let n = frame - origin - turn * round;
    let k = 0;
    while (n >= lengths[k]) n -= lengths[k++];
    return { n, unit: modulo(turn * lengths.length + k, pattern.cycles.length) };
  };
}

function lengthsOf(loss: Omit<HeadLoss, 'start' | 'length'>): readonly number[] {
  if (loss.frameLengths && loss.frameLengths.length > 0) return loss.frameLengths;
  throw new Error(`${loss.pattern.id} begins again with every frame: frame lengths are needed`);
}

/** First frame after the longest stretch in which all channels are good. */
function wholeStart(pattern: LossPattern, channels: number): number {
  const isGood = (n: number) => !Array.from({ length: channels }, (_, k) => isLost(pattern, k + 1, n)).some(Boolean);
  let [best, at, good] = [0, 0, 0];
  for (let n = 0; n < 2 * pattern.period; n++) {
    good = isGood(n) ? good + 1 : 0;
    if (good > best) [best, at] = [good, n + 1];
  }
  return at % pattern.period;
}

function modulo(a: number, b: number): number {
  return ((a % b) + b) % b;
}

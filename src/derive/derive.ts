// A corrected copy of a capture as a source of its own: split words joined, a delay within pairs taken out, emphasis taken off, in this order. For
// derivatives only: the capture is read and never changed, and whoever writes the copy says what it is (tasks/derive-file).
import { type Block, DEFAULT_BLOCK_FRAMES, type FrameSource, type StopSignal, throwIfStopped } from '../base/index.ts';
import { convolveInside, deEmphasisTaps, delayTaps } from '../signal/index.ts';
import { joinedBits, joinWords, type SplitPair } from './split-words.ts';

export interface Derivation {
  readonly join: readonly SplitPair[];
  /** per pair of channels 1-2, 3-4 .. (after joining): how late the second is, in samples; 0 leaves it as it is */
  readonly late: readonly number[];
  readonly deEmphasis: boolean;
}

export interface Derived {
  readonly channels: number;
  readonly bits: number;
  blocks(stop?: StopSignal): AsyncIterable<Block>;
  /** samples that did not fit and stand at full scale; complete after the blocks */
  clipped(): number;
}

/** Taps for each sample of a delay: flat within 0.001 dB to 0.95 of half the rate. */
const DELAY = { halfTaps: 160, attenuationDb: 110 };
/** Filtered samples have fractions; in words of at least this length their rounding is of no account. */
const FEWEST_FILTERED_BITS = 24;

export function derive(source: Pick<FrameSource, 'info' | 'read'>, derivation: Derivation): Derived {
  const { info } = source;
  const { join, late, deEmphasis } = derivation;
  const used = new Set(join.map(({ lower }) => lower));
  const kept = Array.from({ length: info.channels }, (_, c) => c + 1).filter((channel) => !used.has(channel));
  const joined = Math.max(info.bits, ...join.map((pair) => joinedBits(info.bits, pair)));
  const isFiltered = deEmphasis || late.some((frames) => frames !== 0);
  const bits = isFiltered ? Math.max(FEWEST_FILTERED_BITS, joined) : joined;
  const delays = late.map((frames) => (frames === 0 ? undefined : delayTaps(-frames, DELAY)));
  const emphasis = deEmphasis ? deEmphasisTaps(info.rate.num / info.rate.den) : undefined;
  const reach = ((delays.find(Boolean)?.length ?? 1) - 1) / 2;
  const round = reach + ((emphasis?.length ?? 1) - 1) / 2;
  let clipped = 0;

  const planesOf = (wide: Block): Int32Array[] =>
    kept.map((channel) => {
      const pair = join.find(({ upper }) => upper === channel);
      const plane = wide.planes[channel - 1];
      const own = pair ? joined - joinedBits(info.bits, pair) : joined - info.bits;
      const whole = pair ? joinWords(plane, wide.planes[pair.lower - 1], pair) : plane;
      return own === 0 ? whole : whole.map((x) => x << own);
    });

  const filtered = (plane: Int32Array, c: number): Int32Array => {
    const scale = 2 ** (bits - joined);
    let x: Float64Array = Float64Array.from(plane, (sample) => sample * scale);
    const taps = c % 2 === 1 ? delays[c >> 1] : undefined;
    // A channel that is not delayed gives up the same surroundings, so that all stay in step.
    x = taps ? convolveInside(x, taps) : x.subarray(reach, x.length - reach);
    if (emphasis) x = convolveInside(x, emphasis);
    const most = 2 ** (bits - 1) - 1;
    return Int32Array.from(x, (sample) => {
      const whole = Math.round(sample);
      if (whole >= -most - 1 && whole <= most) return whole;
      clipped++;
      return whole > 0 ? most : -most - 1;
    });
  };

  return {
    channels: kept.length,
    bits,
    clipped: () => clipped,
    async *blocks(stop) {
      for (let start = 0; start < info.frames; start += DEFAULT_BLOCK_FRAMES) {
        throwIfStopped(stop);
        const frames = Math.min(DEFAULT_BLOCK_FRAMES, info.frames - start);
        const wide = await readWide(source, start - round, frames + 2 * round);
        const planes = planesOf(wide);
        yield { start, frames, planes: isFiltered ? planes.map(filtered) : planes };
      }
    },
  };
}

/** Frames outside of the recording are silence. */
async function readWide(source: Pick<FrameSource, 'info' | 'read'>, start: number, frames: number): Promise<Block> {
  const from = Math.max(0, start);
  const to = Math.min(source.info.frames, start + frames);
  const block = await source.read(from, to - from);
  if (from === start && block.frames === frames) return block;
  const planes = block.planes.map((plane) => {
    const wide = new Int32Array(frames);
    wide.set(plane.subarray(0, block.frames), from - start);
    return wide;
  });
  return { start, frames, planes };
}

// What the chain's test signal consists of and where: lead-in, cells of equal length, tail, all counted in frames, so that the same samples serve every
// rate. Why it is built like this: docs/decisions/0014. Not for samples (cell.ts).
import { type Rate, rateHz, TapeproofError } from '../../base/index.ts';

/** Raised whenever a sample changes: the signal is made anew to judge a capture, and another version is not understood. */
export const SIGNAL_VERSION = 1;
export const SIGNAL_CHANNELS = 2;
export const SIGNAL_BITS: readonly number[] = [16, 20, 24];

/** Digital zero at both ends. */
export const SILENCE_FRAMES = 4800;
/** Noise that comes and goes in steps of 6 dB, between silence and cells. */
export const FADE_FRAMES = 4800;
export const FADE_STEP_FRAMES = 600;
export const EDGE_FRAMES = SILENCE_FRAMES + FADE_FRAMES;

export const CELL_FRAMES = 12_000;
/** A cell opens with the mark by which it is found and the words that name it, both chips of -36 dBFS. */
export const MARK_FRAMES = 1024;
export const WORD_BITS = 96;
export const CHIPS_PER_BIT = 24;
export const WORD_FRAMES = WORD_BITS * CHIPS_PER_BIT;
export const CHIP_SHIFT = 6;
/** Noise everywhere but in silence: peaks 48 dB below full scale. */
export const NOISE_SHIFT = 8;
/** The burst: under 10 ms at every rate allowed, risen and fallen over `RAMP_FRAMES`. */
export const BURST_START = 6000;
export const RAMP_FRAMES = 24;
export const BURST_FRAMES = 288;
/** Frames between the ramps; the first two hold the ends of the scale, the others ever new codes. */
export const FULL_FRAMES = BURST_FRAMES - 2 * RAMP_FRAMES;
export const CODES_PER_BURST = FULL_FRAMES - 2;
/** Bursts rise by 6 dB over the first cells and fall over the last. */
export const LADDER_STEPS = 8;
/** Digital zero within every eighth cell: what a chain adds to nothing. */
export const GAP_START = 9000;
export const GAP_FRAMES = 512;
export const GAP_EVERY = 8;
export const GAP_PHASE = 4;

/** 276 full bursts hold each of the 65 536 codes of a 16-bit word; 3.5 million frames show three slips of 1 ppm. */
export const DEFAULT_CELLS = 292;
export const LEAST_CELLS = 24;
const MOST_CELLS = 0xffff;
/** At lower rates a burst would last 10 ms and more. */
const LEAST_RATE_HZ = 1 + BURST_FRAMES * 100;
const MOST_RATE_HZ = 400_000;

/** Everything the samples depend on; each cell carries it. */
export interface ChainSignal {
  readonly version: number;
  readonly bits: number;
  readonly rate: Rate;
  readonly cells: number;
}

/** `seconds` is the least length; without it the length that proves most. Throws `input` for what is not offered. */
export function chainSignal(rate: Rate, bits: number, seconds?: number): ChainSignal {
  if (!SIGNAL_BITS.includes(bits)) {
    throw new TapeproofError('input', 'the chain signal is not written with that word length', {
      expected: `${SIGNAL_BITS.join(', ')} bits`,
      found: `${bits} bits`,
    });
  }
  const hz = rateHz(rate);
  if (hz < LEAST_RATE_HZ || hz > MOST_RATE_HZ || rate.num >= 2 ** 26 || rate.den >= 2 ** 10) {
    throw new TapeproofError('input', 'the chain signal is not written at that rate', {
      expected: `${LEAST_RATE_HZ} to ${MOST_RATE_HZ} Hz, as a fraction of at most ${2 ** 26 - 1}/${2 ** 10 - 1}`,
      found: `${rate.num}/${rate.den}`,
      next: `below ${LEAST_RATE_HZ} Hz its loud bursts would no longer be short enough for ears`,
    });
  }
  const cells = seconds === undefined ? DEFAULT_CELLS : Math.ceil((seconds * hz - 2 * EDGE_FRAMES) / CELL_FRAMES);
  if (cells > MOST_CELLS) {
    throw new TapeproofError('input', 'the chain signal cannot be that long', {
      expected: `at most ${Math.floor((MOST_CELLS * CELL_FRAMES) / hz)} seconds at this rate`,
      found: `${seconds}`,
    });
  }
  return { version: SIGNAL_VERSION, bits, rate, cells: Math.max(LEAST_CELLS, cells) };
}

export function signalFrames(signal: ChainSignal): number {
  return 2 * EDGE_FRAMES + signal.cells * CELL_FRAMES;
}

/** How far the burst of a cell lies below full scale, in steps of 6 dB: 0 for all but the first and last ones. */
export function burstShift(cell: number, cells: number): number {
  return Math.max(0, LADDER_STEPS - Math.min(cell, cells - 1 - cell));
}

export function hasGap(cell: number): boolean {
  return cell % GAP_EVERY === GAP_PHASE;
}

// The samples of one cell, of the fades and of the codes in the bursts: integers from seeds alone, so that any cell can be made without those before it.
import { Random } from '../../signal/index.ts';
import { type Chips, chipsOf } from './chips.ts';
import { cellBits } from './identity.ts';
import {
  BURST_START,
  burstShift,
  CELL_FRAMES,
  CHIP_SHIFT,
  CHIPS_PER_BIT,
  type ChainSignal,
  CODES_PER_BURST,
  FADE_FRAMES,
  FADE_STEP_FRAMES,
  FULL_FRAMES,
  GAP_FRAMES,
  GAP_START,
  hasGap,
  MARK_FRAMES,
  NOISE_SHIFT,
  RAMP_FRAMES,
  SIGNAL_CHANNELS,
  WORD_FRAMES,
} from './layout.ts';

const NOISE_SEED = 71_993;

/** Makes fresh planes of `CELL_FRAMES` for any cell of the signal. */
export function cellMaker(signal: ChainSignal): (cell: number) => Int32Array[] {
  const chips = channels(chipsOf);
  return (cell) =>
    channels((channel) => {
      const random = randomOf(`cell ${cell} channel ${channel + 1}`);
      const plane = noise(random, CELL_FRAMES, signal.bits);
      addChips(plane, signal, cell, chips[channel]);
      putBurst(plane, signal, cell, channel, random);
      if (hasGap(cell)) plane.fill(0, GAP_START, GAP_START + GAP_FRAMES);
      return plane;
    });
}

/** Noise that rises from 96 to 48 dB below full scale, or falls. */
export function fadeSamples(signal: ChainSignal, way: 'in' | 'out'): Int32Array[] {
  return channels((channel) => {
    const plane = noise(randomOf(`fade ${way} channel ${channel + 1}`), FADE_FRAMES, signal.bits);
    for (let n = 0; n < FADE_FRAMES; n++) {
      const fromEdge = way === 'in' ? n : FADE_FRAMES - 1 - n;
      plane[n] >>= NOISE_SHIFT - Math.floor(fromEdge / FADE_STEP_FRAMES);
    }
    return plane;
  });
}

/**
 * Code number `index` of a channel: each value of the word once before any comes again (a chain of operations that each can
 * be undone modulo 2^bits), in an order that looks like noise.
 */
export function burstCode(index: number, bits: number, channel: number): number {
  const mask = 2 ** bits - 1;
  const half = bits >> 1;
  let v = (index + channel * 0x5bd1) & mask;
  for (const factor of [0x2c9277b5, 0x5851f42d]) {
    v = Math.imul(v, factor) & mask;
    v ^= v >>> half;
  }
  v = Math.imul(v, 0x6c8e944d) & mask;
  return v - 2 ** (bits - 1);
}

function channels<T>(make: (channel: number) => T): T[] {
  return Array.from({ length: SIGNAL_CHANNELS }, (_, channel) => make(channel));
}

function randomOf(label: string): Random {
  return new Random(NOISE_SEED).fork(label);
}

/** Never two equal neighbours: where one frame is lost or comes twice can then be told. */
function noise(random: Random, frames: number, bits: number): Int32Array {
  const plane = new Int32Array(frames);
  const shift = 32 - (bits - NOISE_SHIFT);
  let before = 0;
  for (let n = 0; n < frames; n++) {
    let x = (random.uint32() | 0) >> shift;
    if (x === before) x ^= 1;
    plane[n] = before = x;
  }
  return plane;
}

function addChips(plane: Int32Array, signal: ChainSignal, cell: number, { mark, words }: Chips): void {
  const height = 2 ** (signal.bits - 1 - CHIP_SHIFT);
  for (let n = 0; n < MARK_FRAMES; n++) plane[n] += height * mark[n];
  const bits = cellBits({ signal, cell });
  for (let n = 0; n < WORD_FRAMES; n++) {
    plane[MARK_FRAMES + n] += height * words[n] * (bits[Math.floor(n / CHIPS_PER_BIT)] ? 1 : -1);
  }
}

function putBurst(plane: Int32Array, signal: ChainSignal, cell: number, channel: number, random: Random): void {
  const { bits, cells } = signal;
  const shift = burstShift(cell, cells);
  const top = 2 ** (bits - 1);
  const ends = channel === 0 ? [top - 1, -top] : [-top, top - 1];
  const ramp = (n: number) => Math.floor((((random.uint32() | 0) >> (32 - bits)) * (n + 1)) / (RAMP_FRAMES + 1));
  const put = (n: number, value: number) => {
    plane[BURST_START + n] = value >> shift;
  };
  for (let n = 0; n < RAMP_FRAMES; n++) put(n, ramp(n));
  for (let n = 0; n < FULL_FRAMES; n++) {
    put(RAMP_FRAMES + n, n < 2 ? ends[n] : burstCode(cell * CODES_PER_BURST + n - 2, bits, channel));
  }
  for (let n = 0; n < RAMP_FRAMES; n++) put(RAMP_FRAMES + FULL_FRAMES + n, ramp(RAMP_FRAMES - 1 - n));
}

// The level of every channel in steps of a few milliseconds, and its brightness in steps of half a second: what boundaries between programmes are
// looked for in. Not for judging.
import { type Block, type FrameInfo, rateHz } from '../../base/index.ts';

const HOP_SECONDS = 0.004;
const HOPS_PER_STEP = 125;
/** What lies below is rumble, hum or the slow part of a falling noise: it moves from hop to hop also where nothing is played. */
const LOW_HZ = 150;

interface ChannelTrack {
  /** dB against full scale of each hop, of what lies above the low end */
  readonly levels: Float32Array;
  /** 1 where all samples of the hop are equal */
  readonly constant: Uint8Array;
  /** dB of the differences from sample to sample against the samples, for each half second */
  readonly brightness: Float32Array;
  // what two filters of the first order, one behind the other, take off
  low: number;
  lower: number;
  last: number;
  // of the hop
  squares: number;
  lowest: number;
  highest: number;
  // of the half second; energy is that of all there is
  energy: number;
  difference: number;
}

/** State with a life: push all blocks in order, finish once. */
export class LevelTracks {
  readonly hopFrames: number;
  readonly hops: number;
  /** dB below which levels are not told apart: half a step of the word */
  readonly floorDb: number;
  readonly #fullScale: number;
  readonly #lowGain: number;
  readonly #tracks: ChannelTrack[];
  #hop = 0;
  #filled = 0;

  constructor({ channels, frames, rate, bits }: FrameInfo) {
    this.hopFrames = Math.max(1, Math.round(HOP_SECONDS * rateHz(rate)));
    this.hops = Math.ceil(frames / this.hopFrames);
    this.#fullScale = 2 ** (bits - 1);
    this.#lowGain = 1 - Math.exp((-2 * Math.PI * LOW_HZ) / rateHz(rate));
    this.floorDb = -20 * Math.log10(2 ** bits);
    const { hops } = this;
    this.#tracks = Array.from({ length: channels }, () => ({
      levels: new Float32Array(hops),
      constant: new Uint8Array(hops),
      brightness: new Float32Array(Math.ceil(hops / HOPS_PER_STEP)),
      ...{ low: 0, lower: 0, last: 0, energy: 0, difference: 0 },
      ...emptyHop(),
    }));
  }

  static readonly hopsPerStep = HOPS_PER_STEP;

  push(block: Block): void {
    for (let at = 0; at < block.frames; ) {
      const length = Math.min(this.hopFrames - this.#filled, block.frames - at);
      for (const [c, track] of this.#tracks.entries()) add(track, block.planes[c], at, at + length, this.#lowGain);
      at += length;
      this.#filled += length;
      if (this.#filled === this.hopFrames) this.#endHop();
    }
  }

  finish(): void {
    if (this.#filled > 0) this.#endHop();
  }

  /** The loudest of these channels (0-based) at each hop; constant only where all are. */
  together(channels: readonly number[]): { levels: Float32Array; constant: Uint8Array; brightness: Float32Array } {
    const [first, ...others] = channels.map((c) => this.#tracks[c]);
    const levels = first.levels.slice();
    const constant = first.constant.slice();
    for (const other of others) {
      for (let i = 0; i < levels.length; i++) {
        levels[i] = Math.max(levels[i], other.levels[i]);
        constant[i] &= other.constant[i];
      }
    }
    return { levels, constant, brightness: first.brightness };
  }

  #endHop(): void {
    for (const track of this.#tracks) this.#endTrack(track);
    this.#hop++;
    this.#filled = 0;
  }

  #endTrack(track: ChannelTrack): void {
    const { squares, lowest, highest } = track;
    const power = squares / this.#filled / this.#fullScale ** 2;
    track.constant[this.#hop] = lowest === highest ? 1 : 0;
    track.levels[this.#hop] = Math.max(this.floorDb, 10 * Math.log10(power));
    Object.assign(track, emptyHop());
    const isStep = this.#hop % HOPS_PER_STEP === HOPS_PER_STEP - 1 || this.#hop === this.hops - 1;
    if (!isStep) return;
    const share = track.energy > 0 ? track.difference / track.energy : 1;
    track.brightness[Math.floor(this.#hop / HOPS_PER_STEP)] = 10 * Math.log10(Math.max(1e-9, share));
    track.energy = 0;
    track.difference = 0;
  }
}

function emptyHop() {
  return { squares: 0, lowest: Number.POSITIVE_INFINITY, highest: Number.NEGATIVE_INFINITY };
}

function add(track: ChannelTrack, plane: Int32Array, from: number, to: number, lowGain: number): void {
  let { squares, lowest, highest, low, lower, last, energy, difference } = track;
  for (let i = from; i < to; i++) {
    const x = plane[i];
    low += lowGain * (x - low);
    lower += lowGain * (x - low - lower);
    squares += (x - low - lower) ** 2;
    energy += x * x;
    difference += (x - last) * (x - last);
    last = x;
    if (x < lowest) lowest = x;
    if (x > highest) highest = x;
  }
  Object.assign(track, { squares, lowest, highest, low, lower, last, energy, difference });
}

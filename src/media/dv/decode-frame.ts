// The samples of one DIF frame, put back in order, with every "no valid sample" code and every missing block counted by track before
// anything else is done with them. The codes stay in the samples. Not for which frame comes next.
import type { FrameBytes } from '../framed/framed-file.ts';
import { findBadBlocks } from './dif-identity.ts';
import { AUDIO_BLOCKS, type DvSystem } from './dif-system.ts';
import { channelsOf, type DvMode } from './dv-mode.ts';
import { expansion12, LOST_12 } from './expand-12.ts';

import { type EntryBytes, type Placement, placementOf, secondHalfAt } from './placement.ts';

/** "no valid sample" of 16-bit words: encoders move genuine values to 0x8001 (R21, S) */
export const LOST_16 = -32_768;
/** That of 12-bit words after expansion; no other code expands to it. */
export const LOST_12_EXPANDED = -32_705;

export function lostValueOf(word: 16 | 12): number {
  return word === 16 ? LOST_16 : LOST_12_EXPANDED;
}

/** What one frame has lost of one channel. Tracks are counted over all DIF channels of the frame. */
export interface ChannelTally {
  /** samples that carry the code, by track */
  readonly codes: Uint16Array;
  /** samples whose block is not there or not itself, by track */
  readonly missing: Uint16Array;
  hasAny: boolean;
}

export class FrameDecoder {
  /** one for each channel; of the frame decoded last */
  readonly tallies: readonly ChannelTally[];
  readonly #mode: DvMode;
  readonly #placement: Placement;
  readonly #bad: Uint8Array;
  readonly #law: Int16Array | undefined;

  constructor(mode: DvMode) {
    this.#mode = mode;
    const entryBytes: EntryBytes = mode.word === 12 ? 3 : 2;
    this.#placement = placementOf(mode.system, entryBytes);
    this.#bad = new Uint8Array((mode.system.sequences / 2) * AUDIO_BLOCKS);
    this.#law = mode.word === 12 ? expansion12() : undefined;
    const tracks = mode.system.sequences * mode.difChannels;
    this.tallies = Array.from({ length: channelsOf(mode) }, () => ({
      codes: new Uint16Array(tracks),
      missing: new Uint16Array(tracks),
      hasAny: false,
    }));
  }

  /** A frame that says nothing of its sound: how its bytes are to be read is not known, so all of it is lost. */
  lose(samples: number, planes: readonly Int32Array[]): void {
    const { system, word } = this.#mode;
    const lost = lostValueOf(word);
    for (const [c, tally] of this.tallies.entries()) {
      clear(tally);
      planes[c].fill(lost, 0, samples);
      const first = word === 12 ? Math.floor(c / 2) : c;
      for (let n = 0; n < samples; n++)
        count(tally, tally.missing, (first * system.sequences) / 2 + this.#placement.sequence[n]);
    }
  }

  /**
   * Writes `samples` of every channel to the beginning of the planes. `delta`: how many more the second half of the frame has. Fewer are
   * missing at the end; more find no place beside the first half.
   */
  decode(frame: FrameBytes, samples: number, planes: readonly Int32Array[], delta = 0): void {
    for (const tally of this.tallies) if (tally.hasAny) clear(tally);
    const { system, difChannels } = this.#mode;
    for (let d = 0; d < difChannels; d++) {
      for (let half = 0; half < 2; half++) {
        const own = half === 0 ? samples : samples + Math.min(0, delta);
        this.#decodeHalf(frame, own, planes, { system, d, half });
        if (own < samples) this.#loseEnd(own, samples, planes, 2 * d + half);
      }
    }
  }

  #decodeHalf(frame: FrameBytes, samples: number, planes: readonly Int32Array[], part: HalfPart): void {
    const { system, d, half } = part;
    const channelAt = frame.at + d * system.frameBytes;
    const first = (half * system.sequences) / 2;
    const track = d * system.sequences + first;
    const bad = findBadBlocks(frame.bytes, channelAt, frame.end, first, system.sequences / 2, this.#bad);
    const from = channelAt + half * secondHalfAt(system);
    const place = 2 * d + half;
    if (this.#law) {
      const pair = [2 * place, 2 * place + 1];
      this.#read12(frame.bytes, from, samples, pair, planes, track);
      if (bad > 0) for (const channel of pair) this.#loseBad(samples, planes[channel], this.tallies[channel], track);
    } else {
      this.#read16(frame.bytes, from, samples, planes[place], this.tallies[place], track);
      if (bad > 0) this.#loseBad(samples, planes[place], this.tallies[place], track);
    }
  }

  /** Bytes that do not exist read as zero; their blocks are then marked bad. */
  #read16(bytes: Uint8Array, from: number, samples: number, plane: Int32Array, tally: ChannelTally, track: number) {
    const { at, sequence } = this.#placement;
    for (let n = 0; n < samples; n++) {
      const place = from + at[n];
      const value = ((bytes[place] << 24) | (bytes[place + 1] << 16)) >> 16;
      plane[n] = value;
      if (value === LOST_16) count(tally, tally.codes, track + sequence[n]);
    }
  }

  #read12(
    bytes: Uint8Array,
    from: number,
    samples: number,
    [y, z]: readonly number[],
    planes: readonly Int32Array[],
    track: number,
  ): void {
    const { at, sequence } = this.#placement;
    const law = this.#law as Int16Array;
    for (let n = 0; n < samples; n++) {
      const place = from + at[n];
      const low = bytes[place + 2];
      const codeY = (bytes[place] << 4) | (low >> 4);
      const codeZ = (bytes[place + 1] << 4) | (low & 15);
      planes[y][n] = law[codeY];
      planes[z][n] = law[codeZ];
      if (codeY === LOST_12) count(this.tallies[y], this.tallies[y].codes, track + sequence[n]);
      if (codeZ === LOST_12) count(this.tallies[z], this.tallies[z].codes, track + sequence[n]);
    }
  }

  /** Samples [from, to) that a half does not have. */
  #loseEnd(from: number, to: number, planes: readonly Int32Array[], place: number): void {
    const channels = this.#law ? [2 * place, 2 * place + 1] : [place];
    const track = (place * this.#mode.system.sequences) / 2;
    for (const channel of channels) {
      planes[channel].fill(lostValueOf(this.#mode.word), from, to);
      for (let n = from; n < to; n++) {
        const tally = this.tallies[channel];
        count(tally, tally.missing, track + this.#placement.sequence[n]);
      }
    }
  }

  /** Nobody knows what a block that is not itself holds: its samples become lost ones. */
  #loseBad(samples: number, plane: Int32Array, tally: ChannelTally, track: number): void {
    const { slot, sequence } = this.#placement;
    const lost = lostValueOf(this.#mode.word);
    for (let n = 0; n < samples; n++) {
      if (this.#bad[slot[n]] === 0) continue;
      if (plane[n] === lost && tally.codes[track + sequence[n]] > 0) tally.codes[track + sequence[n]]--;
      plane[n] = lost;
      count(tally, tally.missing, track + sequence[n]);
    }
  }
}

interface HalfPart {
  readonly system: DvSystem;
  readonly d: number;
  readonly half: number;
}

function count(tally: ChannelTally, by: Uint16Array, track: number): void {
  by[track]++;
  tally.hasAny = true;
}

function clear(tally: ChannelTally): void {
  tally.codes.fill(0);
  tally.missing.fill(0);
  tally.hasAny = false;
}

// The packs of one frame by vote: the same pack is written many times over all tracks, and a damaged copy must not decide. Scans subcode,
// video and audio auxiliary data of every sequence. Not for their meaning (aaux, tape-time).
import type { FrameBytes } from '../framed/framed-file.ts';
import { AAUX_AT } from './aaux.ts';
import { AUDIO_BLOCKS, audioBlockAt, BLOCK_BYTES, type DvSystem, SEQUENCE_BLOCKS } from './dif-system.ts';

export const TIMECODE = 0;
export const DATE = 1;
export const CLOCK = 2;
/** of the two halves of the frame */
export const SOURCE = [3, 4] as const;
export const CONTROL = [5, 6] as const;
const SLOTS = 7;
/** Different values of one pack that are told apart in a frame. */
const CANDIDATES = 4;
const NOTHING = 0xffffffff;

export class PackVote {
  readonly #values = new Float64Array(SLOTS * CANDIDATES);
  readonly #votes = new Uint16Array(SLOTS * CANDIDATES);

  scan({ bytes, at, end }: FrameBytes, system: DvSystem): void {
    this.#votes.fill(0);
    for (let s = 0; s < system.sequences; s++) {
      const sequence = at + s * SEQUENCE_BLOCKS * BLOCK_BYTES;
      if (sequence + 6 * BLOCK_BYTES > end) break;
      this.#subcode(bytes, sequence);
      this.#videoAux(bytes, sequence);
      this.#audioAux(bytes, at, s, end, system);
    }
  }

  /** The four bytes of the most frequent value, the first one highest; undefined where there was none. */
  winner(slot: number): number | undefined {
    let best = -1;
    for (let i = slot * CANDIDATES; i < (slot + 1) * CANDIDATES; i++)
      if (this.#votes[i] > 0 && (best < 0 || this.#votes[i] > this.#votes[best])) best = i;
    return best < 0 ? undefined : this.#values[best];
  }

  #subcode(bytes: Uint8Array, sequence: number): void {
    for (let block = 1; block <= 2; block++) {
      const at = sequence + block * BLOCK_BYTES;
      if (bytes[at] >> 5 !== 1) continue;
      for (let i = 0; i < 6; i++) this.#pack(bytes, at + 6 + 8 * i, 0);
    }
  }

  #videoAux(bytes: Uint8Array, sequence: number): void {
    for (let block = 3; block <= 5; block++) {
      const at = sequence + block * BLOCK_BYTES;
      if (bytes[at] >> 5 !== 2) continue;
      for (let i = 0; i < 15; i++) this.#pack(bytes, at + 3 + 5 * i, 0);
    }
  }

  #audioAux(bytes: Uint8Array, frame: number, s: number, end: number, { sequences }: DvSystem): void {
    const half = s < sequences / 2 ? 0 : 1;
    for (let k = 0; k < AUDIO_BLOCKS; k++) {
      const at = frame + audioBlockAt(s, k);
      if (at + BLOCK_BYTES <= end && bytes[at] >> 5 === 3) this.#pack(bytes, at + AAUX_AT, half);
    }
  }

  #pack(bytes: Uint8Array, at: number, half: number): void {
    const slot = slotOf(bytes[at], half);
    if (slot < 0) return;
    const value = ((bytes[at + 1] << 24) | (bytes[at + 2] << 16) | (bytes[at + 3] << 8) | bytes[at + 4]) >>> 0;
    if (value === NOTHING) return;
    for (let i = slot * CANDIDATES; i < (slot + 1) * CANDIDATES; i++) {
      if (this.#votes[i] > 0 && this.#values[i] !== value) continue;
      this.#values[i] = value;
      this.#votes[i]++;
      return;
    }
  }
}

function slotOf(pack: number, half: number): number {
  if (pack === 0x13) return TIMECODE;
  if (pack === 0x62 || pack === 0x52) return DATE;
  if (pack === 0x63 || pack === 0x53) return CLOCK;
  if (pack === 0x50) return SOURCE[half];
  return pack === 0x51 ? CONTROL[half] : -1;
}

// Reads the same stretch of two captures under an assumed offset and says frame by frame how many of the paired
// channels differ. Samples are compared left-justified, so that a wider file of the same numbers is equal.
import type { Block, FrameSource } from '../base/index.ts';
import type { ChannelPair } from './match.ts';

/** Mark for a frame that one of the captures does not have. */
export const NOT_COVERED = 255;

export class PairReader {
  readonly own: FrameSource;
  readonly other: FrameSource;
  readonly pairs: readonly ChannelPair[];
  readonly #ownShift: number;
  readonly #otherShift: number;
  readonly #hasLost: boolean;

  constructor(own: FrameSource, other: FrameSource, pairs: readonly ChannelPair[]) {
    this.own = own;
    this.other = other;
    this.pairs = pairs;
    this.#ownShift = 32 - own.info.bits;
    this.#otherShift = 32 - other.info.bits;
    this.#hasLost = own.info.lostValue !== undefined || other.info.lostValue !== undefined;
  }

  /** Differing channels of own frames [start, start + frames) against other = own + offset; NOT_COVERED where missing. */
  async mismatch(start: number, frames: number, offset: number): Promise<Uint8Array> {
    const [a, b] = await Promise.all([this.own.read(start, frames), this.other.read(start + offset, frames)]);
    return this.count(a, b, start, frames, offset);
  }

  count(a: Block, b: Block, start: number, frames: number, offset: number): Uint8Array {
    const out = new Uint8Array(frames).fill(NOT_COVERED);
    const from = Math.max(start, a.start, b.start - offset);
    const to = Math.min(start + frames, a.start + a.frames, b.start + b.frames - offset);
    if (to > from) out.fill(0, from - start, to - start);
    for (const [own, other] of this.pairs) {
      const x = a.planes[own];
      const y = b.planes[other];
      const atX = -a.start;
      const atY = offset - b.start;
      for (let t = from; t < to; t++) {
        if (x[atX + t] << this.#ownShift !== y[atY + t] << this.#otherShift) out[t - start]++;
      }
    }
    if (this.#hasLost) this.#leaveOutLost(out, a, b, { start, from, to, offset });
    return out;
  }

  /** Whether a sample of one of the two says "no valid sample": it is no evidence, neither for nor against. */
  isLost(own: number, other: number): boolean {
    return own === this.own.info.lostValue || other === this.other.info.lostValue;
  }

  /** A frame in which every pair has lost a sample is not covered; where some have, only the others count. */
  #leaveOutLost(
    out: Uint8Array,
    a: Block,
    b: Block,
    { start, from, to, offset }: { start: number; from: number; to: number; offset: number },
  ): void {
    for (let t = from; t < to; t++) {
      let lost = 0;
      for (const [own, other] of this.pairs) {
        const [x, y] = [a.planes[own][t - a.start], b.planes[other][t + offset - b.start]];
        if (!this.isLost(x, y)) continue;
        lost++;
        if (x << this.#ownShift !== y << this.#otherShift) out[t - start]--;
      }
      if (lost === this.pairs.length) out[t - start] = NOT_COVERED;
    }
  }
}

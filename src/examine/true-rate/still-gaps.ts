// Where a recording stands still in all channels at once: digital silence, or one value held. A deck that changes its rate mutes, a recorder that loses
// lock holds or writes nothing, so a change of rate hides in such a gap. Not a loss detector (muted).
import { type Block, mergeSpans, type Span } from '../../base/index.ts';

/** State with a life: push all blocks in order, then read. */
export class StillGaps {
  readonly #least: number;
  readonly #join: number;
  readonly #found: Span[] = [];
  #last: Int32Array | undefined;
  #since = 0;
  #frames = 0;

  /** Gaps of fewer frames are none; gaps closer than `joinFrames` are one, for lock comes and goes. */
  constructor(leastFrames: number, joinFrames: number) {
    this.#least = leastFrames;
    this.#join = joinFrames;
  }

  push({ start, frames, planes }: Block): void {
    this.#last ??= new Int32Array(planes.length);
    for (let i = 0; i < frames; i++) {
      let moves = start + i === 0;
      for (let c = 0; c < planes.length; c++) {
        const x = planes[c][i];
        if (x === this.#last[c]) continue;
        moves = true;
        this.#last[c] = x;
      }
      if (!moves) continue;
      this.#close(start + i);
      this.#since = start + i;
    }
    this.#frames = start + frames;
  }

  finish(): Span[] {
    this.#close(this.#frames);
    this.#since = this.#frames;
    return mergeSpans(this.#found, this.#join);
  }

  #close(at: number): void {
    if (at - this.#since >= this.#least) this.#found.push({ start: this.#since, length: at - this.#since });
  }
}

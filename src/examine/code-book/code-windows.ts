// The codes of one channel in windows of fixed frames that overlap, so that each row lies whole in one of them with its surroundings,
// whatever the blocks they come in. Not for what is looked for in them.

/** Frames by which windows advance. */
const HOP = 32_768;
/** Beyond the hop at both ends: the longest row that no window cuts. */
export const MARGIN = 2048;

export interface CodeWindow {
  readonly codes: Int32Array;
  /** frame of the first code */
  readonly start: number;
  /** index of the first code that is this window's own; what begins before it was seen by the window before, for MARGIN more */
  readonly own: number;
  /** index behind the last one */
  readonly ownEnd: number;
}

/** State with a life: push all codes in order, then finish once. */
export class CodeWindows {
  readonly #buffer = new Int32Array(HOP + 2 * MARGIN);
  readonly #take: (window: CodeWindow) => void;
  #filled = 0;
  #start = 0;

  constructor(take: (window: CodeWindow) => void) {
    this.#take = take;
  }

  push(codes: Int32Array): void {
    for (let at = 0; at < codes.length; ) {
      const take = Math.min(codes.length - at, this.#buffer.length - this.#filled);
      this.#buffer.set(codes.subarray(at, at + take), this.#filled);
      this.#filled += take;
      at += take;
      if (this.#filled === this.#buffer.length) this.#advance();
    }
  }

  finish(): void {
    if (this.#filled > this.#own) this.#give(this.#filled);
  }

  get #own(): number {
    return this.#start === 0 ? 0 : MARGIN;
  }

  #advance(): void {
    this.#give(this.#buffer.length - MARGIN);
    const keep = 2 * MARGIN;
    this.#buffer.copyWithin(0, this.#filled - keep, this.#filled);
    this.#start += this.#filled - keep;
    this.#filled = keep;
  }

  #give(ownEnd: number): void {
    const codes = this.#buffer.subarray(0, this.#filled);
    this.#take({ codes, start: this.#start, own: this.#own, ownEnd });
  }
}

// The tape frames of one stretch of a file in order: where each lies, how many samples it has, what is wrong with it. Grows while a
// file is looked through; 22 bytes a frame, so that a whole tape needs a few megabytes. Decides nothing.

export const HEADER_DAMAGED = 1;
/** bytes of the frame are missing */
export const SHORT = 2;
/** no readable source pack: the number of samples is a guess, none of them is known */
export const NO_SOUND = 4;
/** the packs of the frame name another mode than those before and behind it; how it is to be read is not known */
export const ODD_MODE = 32;
export const WITHOUT_SOUND = NO_SOUND | ODD_MODE;
/** the packs of the frame do not agree; the majority was taken */
export const PACKS_DIFFER = 8;
/** the header says that the sound is not valid */
export const DECLARED_INVALID = 16;

export interface FrameRow {
  readonly at: number;
  /** bytes that exist, at most the size of a frame */
  readonly bytes: number;
  readonly samples: number;
  readonly flags: number;
  /** samples that the second half of the frame has more, or fewer, than `samples`; 0 when left out */
  readonly delta?: number;
}

export class FrameTable {
  #at = new Float64Array(1024);
  #start = new Float64Array(1025);
  #bytes = new Uint32Array(1024);
  #flags = new Uint8Array(1024);
  #delta = new Int8Array(1024);
  #length = 0;

  get length(): number {
    return this.#length;
  }

  /** samples per channel */
  get samples(): number {
    return this.#start[this.#length];
  }

  add({ at, bytes, samples, flags, delta = 0 }: FrameRow): void {
    if (this.#length === this.#at.length) this.#grow();
    const i = this.#length++;
    this.#at[i] = at;
    this.#bytes[i] = bytes;
    this.#flags[i] = flags;
    this.#delta[i] = delta;
    this.#start[i + 1] = this.#start[i] + samples;
  }

  at(frame: number): number {
    return this.#at[frame];
  }

  end(frame: number): number {
    return this.#at[frame] + this.#bytes[frame];
  }

  flags(frame: number): number {
    return this.#flags[frame];
  }

  delta(frame: number): number {
    return this.#delta[frame];
  }

  /** first sample of a frame; of one past the last, the number of samples */
  start(frame: number): number {
    return this.#start[frame];
  }

  samplesOf(frame: number): number {
    return this.#start[frame + 1] - this.#start[frame];
  }

  /** The frame that holds a sample; the number of frames when none does. */
  frameOf(sample: number): number {
    let low = 0;
    let high = this.#length;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (this.#start[middle + 1] <= sample) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  count(flag: number): number {
    let found = 0;
    for (let i = 0; i < this.#length; i++) if (this.#flags[i] & flag) found++;
    return found;
  }

  #grow(): void {
    this.#at = grown(this.#at, new Float64Array(2 * this.#at.length));
    this.#bytes = grown(this.#bytes, new Uint32Array(2 * this.#bytes.length));
    this.#flags = grown(this.#flags, new Uint8Array(2 * this.#flags.length));
    this.#delta = grown(this.#delta, new Int8Array(2 * this.#delta.length));
    this.#start = grown(this.#start, new Float64Array(2 * this.#start.length));
  }
}

function grown<T extends Float64Array | Uint32Array | Uint8Array | Int8Array>(from: T, to: T): T {
  to.set(from);
  return to;
}

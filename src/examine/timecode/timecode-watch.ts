// One channel watched for timecode: a sieve on every window, the decoder only while it finds words, longer rests after each attempt in vain. Windows
// stand at fixed frames, so that nothing depends on the size of the blocks.
import { type FoundWord, TimecodeDecoder } from '../../signal/index.ts';
import { isLikeTimecode } from './like-timecode.ts';

/** Frames; 85 ms at 48 kHz, two words at 25 frames a second. */
export const WATCH_WINDOW = 4096;
/** The decoder is given up after so many seconds without a word: two words at a tenth of the speed of 24 frames. */
const PATIENCE_SECONDS = 2;
/** Rest after an attempt in vain: doubled each time, to this at most. */
const LONGEST_REST_SECONDS = 60;

/** State with a life: push all samples in order, finish once. */
export class TimecodeWatch {
  readonly #rateHz: number;
  readonly #found: (word: FoundWord) => void;
  /** a window that began in an earlier block */
  readonly #held = new Int32Array(WATCH_WINDOW);
  /** the window before, while it may have been the beginning */
  readonly #before = new Int32Array(WATCH_WINDOW);
  #isSecond = false;
  #filled = 0;
  #window = 0;
  #decoder: TimecodeDecoder | undefined;
  #began = 0;
  #words = 0;
  /** window at which the last word was found, or the decoder began */
  #fresh = 0;
  #restUntil = 0;
  #restSeconds = PATIENCE_SECONDS;

  constructor(rateHz: number, found: (word: FoundWord) => void) {
    this.#rateHz = rateHz;
    this.#found = found;
  }

  push(plane: Int32Array): void {
    for (let at = 0; at < plane.length; ) {
      const length = Math.min(WATCH_WINDOW - this.#filled, plane.length - at);
      const part = plane.subarray(at, at + length);
      at += length;
      if (length === WATCH_WINDOW) this.#takeWindow(part);
      else this.#hold(part);
    }
  }

  finish(): void {
    if (this.#filled > 0) this.#takeWindow(this.#held.subarray(0, this.#filled));
    if (this.#decoder) this.#close();
  }

  /** Longest stretch of a passage, in seconds, that can go by unseen. */
  static readonly blindSeconds = LONGEST_REST_SECONDS;

  #hold(part: Int32Array): void {
    this.#held.set(part, this.#filled);
    this.#filled += part.length;
    if (this.#filled === WATCH_WINDOW) this.#takeWindow(this.#held);
  }

  #takeWindow(window: Int32Array): void {
    if (!this.#decoder && this.#window >= this.#restUntil) {
      const isLike = isLikeTimecode(window);
      if (isLike && this.#isSecond) this.#begin();
      this.#isSecond = isLike;
      if (isLike) this.#before.set(window);
    }
    if (this.#decoder) this.#decode(this.#decoder, window);
    this.#window++;
    this.#filled = 0;
  }

  /** Two windows in a row: the first is decoded as well. */
  #begin(): void {
    this.#decoder = new TimecodeDecoder(this.#rateHz);
    this.#decoder.push(this.#before);
    this.#began = this.#window - 1;
    this.#fresh = this.#window;
    this.#words = 0;
  }

  #decode(decoder: TimecodeDecoder, window: Int32Array): void {
    decoder.push(window);
    const words = decoder.wordsSoFar;
    if (words > this.#words) {
      this.#words = words;
      this.#fresh = this.#window;
    }
    if (this.#window - this.#fresh > this.#windowsIn(PATIENCE_SECONDS)) this.#close();
  }

  #close(): void {
    const decoder = this.#decoder as TimecodeDecoder;
    this.#decoder = undefined;
    this.#isSecond = false;
    const words = decoder.finish();
    const offset = this.#began * WATCH_WINDOW;
    for (let i = 0; i < words.length; i++) {
      const word = words.at(i);
      this.#found({ ...word, start: word.start + offset, end: word.end + offset });
    }
    this.#restSeconds = words.length ? PATIENCE_SECONDS : Math.min(LONGEST_REST_SECONDS, 2 * this.#restSeconds);
    this.#restUntil = words.length ? 0 : this.#window + this.#windowsIn(this.#restSeconds);
  }

  #windowsIn(seconds: number): number {
    return Math.ceil((seconds * this.#rateHz) / WATCH_WINDOW);
  }
}

// First look for repeats in one channel, streaming: a rolling hash of the last few samples finds where they stood before,
// the samples themselves prove it, and the run is followed to its end. Deliberately generous: repeat-judge.ts decides.
import type { Span } from '../../base/index.ts';
import { MATCH_WINDOW, newWindowTable, windowMatches } from '../../signal/index.ts';

/** Shortest lag: below it a repeat is a hold, a tone or a slip (inner-slip). */
export const SHORTEST_LAG = 16;
/** Longest lag: the longest unit of the formats with both heads of a turn, and common buffer sizes. Own choice. */
export const LONGEST_LAG = 8192;
/** Samples that must stand before in the same order to open a run. */
export const WINDOW = MATCH_WINDOW;
/** Longer runs are tones and loops: no deck fills a second with its memory. Own choice. */
export const LONGEST_COPY = 32_768;

const RING = 2 * LONGEST_LAG;
const MASK = RING - 1;
/** Frames that are looked up together. */
const PART = 32_768;
/** A run may have begun while another, shorter one was followed. */
const LONGEST_BACK = 4096;
const MOST_RUNS = 20_000;

/** x[start..start+length) equals the samples `lag` frames before. */
export interface RepeatRun extends Span {
  readonly lag: number;
}

export class RepeatScan {
  readonly #ring = new Int32Array(RING);
  readonly #table = newWindowTable();
  readonly #isWorthKeeping: (recent: RecentSamples, run: RepeatRun) => boolean;
  #frame = 0;
  #lag = 0;
  #start = 0;
  readonly runs: RepeatRun[] = [];
  /** runs longer than LONGEST_COPY */
  loops = 0;
  /** runs beyond what is kept */
  leftOut = 0;

  /** `isWorthKeeping` sees the last samples of a run that has just ended (at most one lag of them and LONGEST_LAG). */
  constructor(isWorthKeeping: (recent: RecentSamples, run: RepeatRun) => boolean) {
    this.#isWorthKeeping = isWorthKeeping;
  }

  push(plane: Int32Array): void {
    for (let at = 0; at < plane.length; at += PART) this.#pushPart(plane.subarray(at, at + PART));
  }

  /** The ring never runs ahead of the sample that is looked at: whoever is asked about a run sees what came before. */
  #pushPart(part: Int32Array): void {
    const distances = { shortest: SHORTEST_LAG, longest: LONGEST_LAG };
    const matches = windowMatches(this.#lastWindow(), part, this.#frame, this.#table, distances);
    let done = this.#follow(part, 0);
    for (let k = 0; k < matches.length; k += 2) {
      const index = matches[k];
      const before = matches[k + 1];
      if (index < done || this.#lag > 0 || before < WINDOW - 1) continue;
      this.#remember(part, done, index + 1);
      done = index + 1;
      const frame = this.#frame + index;
      if (!isSame(this.#ring, frame, frame - before)) continue;
      this.#lag = frame - before;
      this.#start = startOf(this.#ring, frame, this.#lag);
      done = this.#follow(part, done);
    }
    this.#remember(part, done, part.length);
    this.#frame += part.length;
  }

  /** Follows the open run, if any, from an index on; returns the index of the sample that ended it, or the part's length. */
  #follow(part: Int32Array, from: number): number {
    if (this.#lag === 0) return from;
    const ring = this.#ring;
    for (let i = from, frame = this.#frame + from; i < part.length; i++, frame++) {
      ring[frame & MASK] = part[i];
      if (ring[(frame - this.#lag) & MASK] === part[i]) continue;
      this.#close(frame, this.#lag);
      this.#lag = 0;
      return i;
    }
    return part.length;
  }

  #remember(part: Int32Array, from: number, to: number): void {
    for (let i = Math.max(from, to - RING); i < to; ) {
      const place = (this.#frame + i) & MASK;
      const count = Math.min(to - i, RING - place);
      this.#ring.set(part.subarray(i, i + count), place);
      i += count;
    }
  }

  #lastWindow(): Int32Array {
    return Int32Array.from({ length: WINDOW }, (_, k) => this.#ring[(this.#frame - WINDOW + k) & MASK]);
  }

  /** A run that reaches the end of the recording has no sound after it; it is kept all the same. */
  finish(): void {
    if (this.#lag > 0) this.#close(this.#frame, this.#lag);
    this.#lag = 0;
  }

  #close(end: number, lag: number): void {
    const run = { start: this.#start, length: end - this.#start, lag };
    if (run.length > LONGEST_COPY) this.loops++;
    else if (this.#isWorthKeeping({ ring: this.#ring, mask: MASK }, run)) {
      if (this.runs.length < MOST_RUNS) this.runs.push(run);
      else this.leftOut++;
    }
  }
}

/** Frame f lies at ring[f & mask]. */
export interface RecentSamples {
  readonly ring: Int32Array;
  readonly mask: number;
}

function isSame(ring: Int32Array, frame: number, lag: number): boolean {
  for (let k = 0; k < WINDOW; k++) if (ring[(frame - k) & MASK] !== ring[(frame - lag - k) & MASK]) return false;
  return true;
}

function startOf(ring: Int32Array, frame: number, lag: number): number {
  const earliest = Math.max(lag, frame - Math.min(LONGEST_BACK, RING - lag - 1));
  let start = frame - WINDOW + 1;
  while (start > earliest && ring[(start - 1) & MASK] === ring[(start - 1 - lag) & MASK]) start--;
  return start;
}

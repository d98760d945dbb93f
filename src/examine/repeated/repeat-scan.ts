// First look for repeats in one channel, streaming: a rolling hash of the last few samples finds where they stood before,
// the samples themselves prove it, and the run is followed to its end. Deliberately generous: repeat-judge.ts decides.
import type { Span } from '../../base/index.ts';
import { besideEachOther, MATCH_WINDOW, newWindowTable, SHORTEST_MATCH, windowMatches } from '../../signal/index.ts';

/** Shortest lag: below it a repeat is a hold, a tone or a slip (inner-slip). */
export const SHORTEST_LAG = 16;
/** Longest lag: the longest unit of the formats with both heads of a turn, and common buffer sizes. Own choice. */
export const LONGEST_LAG = 8192;
/** Samples of the shortest run. */
export const SHORTEST_RUN = SHORTEST_MATCH;
/** Longer runs are tones and loops: no deck fills a second with its memory. Own choice. */
export const LONGEST_COPY = 32_768;

/** Frames that are looked up together. */
const PART = 32_768;
/** A run may have begun while another, shorter one was followed. */
const LONGEST_BACK = 4096;
/** Samples kept before the part that is looked up: a run that began so long ago, and its source. */
const KEPT = LONGEST_BACK + LONGEST_LAG + SHORTEST_RUN;
const MOST_RUNS = 20_000;

/** x[start..start+length) equals the samples `lag` frames before. */
export interface RepeatRun extends Span {
  readonly lag: number;
}

export class RepeatScan {
  /** the last samples of what was before */
  readonly #before = new Int32Array(KEPT);
  readonly #table = newWindowTable();
  readonly #isWorthKeeping: (recent: RecentSamples, run: RepeatRun) => boolean;
  /** frame of the sample after them */
  #frame = 0;
  /** lag of the run that is followed and frame of its first sample; no lag, no run */
  #lag = 0;
  #start = 0;
  readonly runs: RepeatRun[] = [];
  /** runs longer than LONGEST_COPY */
  loops = 0;
  /** runs beyond what is kept */
  leftOut = 0;

  /** `isWorthKeeping` sees the last samples of a run that has just ended. */
  constructor(isWorthKeeping: (recent: RecentSamples, run: RepeatRun) => boolean) {
    this.#isWorthKeeping = isWorthKeeping;
  }

  push(plane: Int32Array): void {
    for (let at = 0; at < plane.length; at += PART) {
      const end = Math.min(plane.length, at + PART);
      // What was before lies in the plane itself, or is put before its beginning.
      if (at >= KEPT) this.#lookUp(plane.subarray(at - KEPT, end));
      else this.#lookUp(besideEachOther(this.#before, plane.subarray(at, end)));
    }
    const kept = Math.max(0, KEPT - plane.length);
    this.#before.copyWithin(0, KEPT - kept);
    this.#before.set(plane.subarray(Math.max(0, plane.length - KEPT)), kept);
  }

  /** `samples`: those kept, then the part. */
  #lookUp(samples: Int32Array): void {
    const distances = { shortest: SHORTEST_LAG, longest: LONGEST_LAG };
    const matches = windowMatches(samples, KEPT, this.#frame, this.#table, distances);
    let done = this.#follow(samples, KEPT);
    for (let k = 0; k < matches.length && this.#lag === 0; k += 2) {
      const at = KEPT + matches[k];
      const lag = matches[k + 1];
      // Before the recording nothing was repeated.
      if (at < done || this.#frame + matches[k] - lag < MATCH_WINDOW - 1) continue;
      this.#lag = lag;
      this.#start = this.#frame - KEPT + this.#startOf(samples, at, lag);
      done = this.#follow(samples, at + 1);
    }
    this.#frame += samples.length - KEPT;
  }

  /** Follows the open run, if any, from an index on; returns the index of the sample that ended it, or the end. */
  #follow(samples: Int32Array, from: number): number {
    const lag = this.#lag;
    if (lag === 0) return from;
    let i = from;
    while (i < samples.length && samples[i] === samples[i - lag]) i++;
    if (i < samples.length) this.#close(samples, i);
    return i;
  }

  #startOf(samples: Int32Array, at: number, lag: number): number {
    const earliest = Math.max(lag + KEPT - this.#frame, at - LONGEST_BACK);
    let start = at - MATCH_WINDOW + 1;
    while (start > earliest && samples[start - 1] === samples[start - 1 - lag]) start--;
    return start;
  }

  /** A run that reaches the end of the recording has no sound after it; it is kept all the same. */
  finish(): void {
    if (this.#lag > 0) this.#close(this.#before, KEPT);
  }

  /** `end`: index of the first sample after the run. */
  #close(samples: Int32Array, end: number): void {
    const first = this.#frame - KEPT;
    const run = { start: this.#start, length: first + end - this.#start, lag: this.#lag };
    this.#lag = 0;
    if (run.length < SHORTEST_RUN) return;
    if (run.length > LONGEST_COPY) this.loops++;
    else if (this.#isWorthKeeping({ samples, first }, run)) {
      if (this.runs.length < MOST_RUNS) this.runs.push(run);
      else this.leftOut++;
    }
  }
}

/** Frame f lies at samples[f - first]. */
export interface RecentSamples {
  readonly samples: Int32Array;
  readonly first: number;
}

// Sound with the hits of a rule marked once for all candidates in it, and their running counts: how many lie between two places
// costs two look-ups, however many candidates ask. Not for judging them (judge.ts).
import type { HitRule } from './hits.ts';

/** How many hits there are in some places, and how many of them lie exactly midway, in no rounding at all. */
export interface HitCounts {
  readonly hits: number;
  readonly exact: number;
  readonly places: number;
}

export class MarkedSound {
  readonly samples: Int32Array;
  readonly rule: HitRule;
  readonly step: number;
  /** in which the sound stands still: `step`, or the step of an older word */
  readonly restStep: number;
  /** 1 where a hit is; the first and the last sample have only one neighbour and are none */
  readonly marks: Uint8Array;
  /** before each sample */
  readonly #hits: Int32Array;
  readonly #exact: Int32Array;

  constructor(samples: Int32Array, rule: HitRule, step: number, restStep = step) {
    this.samples = samples;
    this.rule = rule;
    this.step = step;
    this.restStep = restStep;
    this.marks = markHits(samples, rule, step);
    this.#hits = new Int32Array(samples.length + 1);
    this.#exact = new Int32Array(samples.length + 1);
    const [marks, hitsBefore, exactBefore] = [this.marks, this.#hits, this.#exact];
    for (let i = 0, [before, at, hits, exact] = [0, samples[0], 0, 0]; i < samples.length; i++) {
      const after = i + 1 < samples.length ? samples[i + 1] : 0;
      hits += marks[i];
      exact += 2 * at === before + after ? marks[i] : 0;
      hitsBefore[i + 1] = hits;
      exactBefore[i + 1] = exact;
      before = at;
      at = after;
    }
  }

  /** In begin..end - 1 without from..to - 1; the first and the last of them do not count, as their neighbours lie beyond. */
  countAround(begin: number, end: number, from: number, to: number): HitCounts {
    const count = (sums: Int32Array) => sums[end - 1] - sums[begin + 1] - (sums[to] - sums[from]);
    return { hits: count(this.#hits), exact: count(this.#exact), places: end - begin - 2 - (to - from) };
  }
}

function markHits(samples: Int32Array, rule: HitRule, step: number): Uint8Array {
  const frames = Math.max(0, samples.length - 2);
  const hits = new Int32Array(frames);
  const count = rule.scan(samples, frames, step, hits);
  const marks = new Uint8Array(samples.length);
  for (let k = 0; k < count; k++) marks[hits[k] + 1] = 1;
  return marks;
}

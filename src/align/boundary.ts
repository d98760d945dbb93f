// The exact frame at which one offset gives way to another: the split with the fewest differing samples before it under
// the first offset and after it under the second.
import type { Span } from '../base/index.ts';
import { NOT_COVERED, type PairReader } from './pair-reader.ts';

export interface Boundary {
  /** the latest best split: the first frame that no longer fits the earlier placement */
  readonly at: number;
  /** the earliest split that is as good (chance agreement, silence or damage lie between) */
  readonly earliest: number;
}

const STEP = 32_768;

/** Split in [span.start, span end]; reads both captures in steps, memory bounded. */
export async function findBoundary(reader: PairReader, span: Span, before: number, after: number): Promise<Boundary> {
  let balance = 0;
  let best = 0;
  let at = span.start;
  let earliest = span.start;
  for (let done = 0; done < span.length; done += STEP) {
    const start = span.start + done;
    const frames = Math.min(STEP, span.length - done);
    const a = await reader.mismatch(start, frames, before);
    const b = await reader.mismatch(start, frames, after);
    for (let t = 0; t < frames; t++) {
      balance += (a[t] === NOT_COVERED ? 0 : a[t]) - (b[t] === NOT_COVERED ? 0 : b[t]);
      if (balance > best) continue;
      if (balance < best) earliest = start + t + 1;
      best = balance;
      at = start + t + 1;
    }
  }
  return { at, earliest };
}

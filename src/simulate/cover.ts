// How one run of lost samples is covered, in integers as decks do it. Not for choosing the method (conceal.ts).
import type { Damage, LostSpan } from './damage.ts';
import type { LossKind } from './truth.ts';

export type Rounding = 'floor' | 'nearest' | 'toward-zero' | 'ceil';

export type ConcealMethod =
  /** straight line between the two good neighbours; over one lost sample this is their mean. `nearest` rounds half up */
  | { readonly kind: 'line'; readonly rounding: Rounding }
  /** the last good sample again */
  | { readonly kind: 'hold' }
  /** exact zeros; the signal around is faded linearly over the given frames; `releaseFrames` more silence at the end */
  | {
      readonly kind: 'mute';
      readonly fadeOutFrames: number;
      readonly fadeInFrames: number;
      readonly releaseFrames: number;
    }
  /** the block before once more, as it was heard */
  | { readonly kind: 'repeat'; readonly blockFrames: number };

/** Consecutive lost samples; the owner is the fault that lost the first of them. */
export interface LostRun {
  readonly start: number;
  readonly length: number;
  readonly owner: LostSpan;
}

/** All runs of one channel (1-based) in order. */
export function lostRuns(mask: Uint8Array, layers: Damage['layers'], channel: number): LostRun[] {
  const spans = layers.map((layer) => layer.filter((span) => span.channel === channel));
  const at = spans.map(() => 0);
  const runs: LostRun[] = [];
  for (let i = 0; i < mask.length; i++) {
    if (!mask[i]) continue;
    const layer = mask[i] - 1;
    while (spans[layer][at[layer]].start + spans[layer][at[layer]].length <= i) at[layer]++;
    const start = i;
    while (i < mask.length && mask[i]) i++;
    runs.push({ start, length: i - start, owner: spans[layer][at[layer]] });
  }
  return runs;
}

/**
 * Overwrites the run in `plane` (earlier runs are covered already) and says what it became. A line without a good
 * neighbour on both sides is a hold; a hold, line or repeat with nothing before it is a mute.
 */
export function coverRun(plane: Int32Array, run: LostRun, method: ConcealMethod): LossKind {
  const { start, length } = run;
  if (method.kind === 'repeat' && start >= method.blockFrames) {
    for (let i = start; i < start + length; i++) plane[i] = plane[i - method.blockFrames];
    return 'repeated';
  }
  if (method.kind === 'mute' || start === 0) {
    plane.fill(0, start, start + length);
    return 'muted';
  }
  if (method.kind === 'line' && start + length < plane.length) {
    drawLine(plane, start, length, method.rounding);
    return 'interpolated';
  }
  plane.fill(plane[start - 1], start, start + length);
  return 'held';
}

function drawLine(plane: Int32Array, start: number, length: number, rounding: Rounding): void {
  const from = plane[start - 1];
  const rise = plane[start + length] - from;
  const parts = length + 1;
  // numerator and denominator apart, so that the rounding is exact: |from * parts + rise * j| stays far below 2^53
  for (let j = 1; j < parts; j++) plane[start + j - 1] = divide(from * parts + rise * j, parts, rounding);
}

/** a / b for a positive b, rounded to an integer in the stated way; exact below 2^52. */
export function divide(a: number, b: number, rounding: Rounding): number {
  const rest = ((a % b) + b) % b;
  const floor = (a - rest) / b;
  if (rest === 0 || rounding === 'floor') return floor;
  if (rounding === 'ceil') return floor + 1;
  if (rounding === 'nearest') return 2 * rest >= b ? floor + 1 : floor;
  return a < 0 ? floor + 1 : floor;
}

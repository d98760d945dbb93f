// Which samples go missing when one head or one track is lost, as data: simulate/ damages with it, examine/ recognises by it.
// Not for what a deck puts in their place (TapeFormat.concealment).
import type { Certainty } from './fact.ts';

/** Samples `from`, `from + stride`, .. (`count` of them) of each period are lost. */
export interface LostRun {
  readonly from: number;
  readonly count: number;
  readonly stride: number;
}

export interface LossStream {
  /** tape channels, counted from 1, within one programme */
  readonly channels: readonly number[];
  readonly lost: readonly LostRun[];
}

/**
 * `cause`: `one-head` repeats for as long as the head is lost; `one-track` stands for a single unit (frame) of the recording.
 * `restarts`: `never` means one cycle runs on, from an unknown phase; `frame` means the cycle begins again at sample 0 of every frame,
 * and successive frames take the entries of `cycles` in turn.
 */
export interface LossPattern {
  readonly id: string;
  readonly label: string;
  readonly cause: 'one-head' | 'one-track';
  /** samples per channel after which a cycle repeats */
  readonly period: number;
  readonly restarts: 'never' | 'frame';
  readonly cycles: readonly (readonly LossStream[])[];
  /** true where the placement is a guess to be tested on real errors, not a known fact */
  readonly hypothesis: boolean;
  readonly source: string;
  readonly certainty: Certainty;
  readonly weakest?: 'S' | 'T' | 'M';
  readonly note?: string;
}

/** Whether sample n (of the frame, or of the running cycle) of a tape channel is lost; `unit` counts frames where the cycle restarts. */
export function isLost(pattern: LossPattern, channel: number, n: number, unit = 0): boolean {
  const at = ((n % pattern.period) + pattern.period) % pattern.period;
  return streamsOf(pattern, unit).some(
    (stream) => stream.channels.includes(channel) && stream.lost.some((run) => runHas(run, at)),
  );
}

/** One period as bytes, 1 = lost. */
export function lossMask(pattern: LossPattern, channel: number, unit = 0): Uint8Array {
  const mask = new Uint8Array(pattern.period);
  for (const stream of streamsOf(pattern, unit)) {
    if (!stream.channels.includes(channel)) continue;
    for (const { from, count, stride } of stream.lost) {
      for (let k = 0; k < count; k++) mask[from + k * stride] = 1;
    }
  }
  return mask;
}

/** One period as text, `x` = lost. */
export function lossText(pattern: LossPattern, channel: number, unit = 0): string {
  return Array.from(lossMask(pattern, channel, unit), (lost) => (lost ? 'x' : '.')).join('');
}

/** Share of a channel's samples that is lost, over all cycles, 0 to 1. */
export function lostShare(pattern: LossPattern, channel: number): number {
  let lost = 0;
  for (let unit = 0; unit < pattern.cycles.length; unit++) {
    lost += lossMask(pattern, channel, unit).reduce((sum, value) => sum + value, 0);
  }
  return lost / (pattern.period * pattern.cycles.length);
}

/** The runs of a text such as `xxx..`. */
export function runsOf(text: string): readonly LostRun[] {
  return Array.from(text.matchAll(/x+/g), (match) => ({ from: match.index, count: match[0].length, stride: 1 }));
}

function streamsOf(pattern: LossPattern, unit: number): readonly LossStream[] {
  const count = pattern.cycles.length;
  return pattern.cycles[((unit % count) + count) % count];
}

function runHas({ from, count, stride }: LostRun, at: number): boolean {
  const steps = (at - from) / stride;
  return steps >= 0 && steps < count && Number.isInteger(steps);
}

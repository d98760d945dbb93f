// Which bursts anybody could see: the definition of the project's design, section 5. A burst is visible when
// (local chance of one such sample)^(samples replaced) x (places tried) < 0.01.
import type { TruthEvent } from '../src/simulate/index.ts';

const AROUND = 256;

/** Chance of one such sample, from the spread of the undamaged sound around the burst (in steps of `step`). */
export function localChance(original: Int32Array, event: TruthEvent, step: number): number {
  const from = Math.max(1, event.start - AROUND);
  const to = Math.min(original.length - 1, event.start + event.length + AROUND);
  const isLine = event.kind === 'interpolated';
  let squares = 0;
  for (let i = from; i < to; i++) {
    const d = isLine ? 2 * original[i] - original[i - 1] - original[i + 1] : original[i] - original[i - 1];
    squares += (d / step) ** 2;
  }
  const spread = Math.sqrt(squares / Math.max(1, to - from));
  return Math.min(1, (isLine ? 1.2 : 0.4) / Math.max(1e-9, spread));
}

export function isVisible(original: Int32Array, event: TruthEvent, step: number): boolean {
  return event.changed * Math.log(localChance(original, event, step)) + Math.log(original.length) < Math.log(0.01);
}

/** Mean level around the burst, dB below a full-scale sample, in steps of 12 dB: the rows of the table by level. */
export function levelClass(original: Int32Array, event: TruthEvent, bits: number): string {
  const from = Math.max(0, event.start - AROUND);
  const to = Math.min(original.length, event.start + event.length + AROUND);
  let squares = 0;
  for (let i = from; i < to; i++) squares += original[i] ** 2;
  const db = 10 * Math.log10(Math.max(1e-9, squares / (to - from)) / 4 ** (bits - 1));
  const upper = Math.min(0, Math.ceil(db / 12) * 12);
  return upper <= -72 ? 'below -72' : `${upper} to ${upper - 12}`;
}

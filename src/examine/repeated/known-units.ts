// Names the units of tape formats (field, track, frame, turn of the drum) that are as long as a lag. Not proof of a format:
// a lag of that length may come from a buffer.
import { type Rate, rateHz } from '../../base/index.ts';
import { listFormats } from '../../tape/index.ts';

/** A header may name 32 kHz for a tape of 31.25 kHz (formats.md 10): 2.4 % off. */
const RATE_TOLERANCE = 0.03;

/** "field 735: pcm-adaptor-525, …" per unit of a format at about that rate; empty where none fits. */
export function unitsOfLength(frames: number, rate: Rate): string[] {
  const formatsOf = new Map<string, string[]>();
  for (const format of listFormats()) {
    const isNear = format.signal.rates.value.some((one) => Math.abs(rateHz(one) / rateHz(rate) - 1) <= RATE_TOLERANCE);
    if (!isNear) continue;
    for (const { name, length } of format.units) {
      const { min, max } = length.value;
      if (frames < min || frames > max) continue;
      const unit = min === max ? `${name} ${min}` : `${name} ${min}..${max}`;
      formatsOf.set(unit, [...(formatsOf.get(unit) ?? []), format.id]);
    }
  }
  return Array.from(formatsOf, ([unit, ids]) => `${unit}: ${ids.join(', ')}`);
}

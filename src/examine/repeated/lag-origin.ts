// Whether a lag is one that decks have: what a deck plays again stands in its memory, so the lag is a unit of the tape (field, track, frame, turn of the
// drum), the size of a memory, or the same each time. An editor's is any length, once. Not proof of a format: a lag of that length may come from a buffer.
import { type Rate, rateHz, type Span, spanEnd } from '../../base/index.ts';
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

/** Lags of one memory differ by so many frames where samples beside it fit by chance, or a field is now and then one longer. */
const SAME_LAG = 2;

export type Origin = 'a unit of a format' | 'a power of two' | 'that of other copies';

/** Undefined where an editor's copy may as well have that lag: of the lags from 16 to 8192 about one in a hundred has an origin. */
export function originOf(lag: number, recurring: ReadonlySet<number>, rate: Rate): Origin | undefined {
  if (unitsOfLength(lag, rate).length > 0) return 'a unit of a format';
  if ((lag & (lag - 1)) === 0) return 'a power of two';
  return recurring.has(lag) ? 'that of other copies' : undefined;
}

/** Lags that two copies at different places have, whatever their channels. */
export function recurringLags(copies: readonly (Span & { readonly lag: number })[]): Set<number> {
  const sorted = copies.toSorted((a, b) => a.lag - b.lag || a.start - b.start);
  const recurring = new Set<number>();
  for (const [i, copy] of sorted.entries()) {
    for (let k = i + 1; k < sorted.length && sorted[k].lag - copy.lag <= SAME_LAG; k++) {
      if (!areApart(copy, sorted[k])) continue;
      recurring.add(copy.lag).add(sorted[k].lag);
      break;
    }
  }
  return recurring;
}

function areApart(one: Span, other: Span): boolean {
  return one.start >= spanEnd(other) || other.start >= spanEnd(one);
}

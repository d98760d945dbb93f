// Where samples are lost: masks per channel and the spans behind them, from explicit losses or a seed.
// Not for how a deck covers them up (conceal.ts) nor for the loss patterns of the formats (format-damage.ts).
import { type Span, spanEnd } from '../base/index.ts';

/** One loss: some or all samples of a span in one channel. */
export interface LostSpan extends Span {
  /** 1-based */
  readonly channel: number;
  /** lost samples inside the span; the span begins and ends with a lost one */
  readonly samples: number;
  readonly pattern: string;
  readonly cause: string;
}

/**
 * `masks[c][i]` is 0 where frame i of channel c+1 is good, else 1 + the layer that lost it first (at most 254 layers).
 * `layers[k]` lists the spans of layer k, sorted by channel and start and disjoint within a channel.
 */
export interface Damage {
  readonly frames: number;
  readonly masks: readonly Uint8Array[];
  readonly layers: readonly (readonly LostSpan[])[];
}

/** A loss to be put down: `lost(i)` for frame i says which frames of [start, start+length) go; all when left out. */
export interface Loss extends Span {
  /** 1-based */
  readonly channel: number;
  readonly pattern: string;
  readonly cause: string;
  readonly lost?: (frame: number) => boolean;
}

/**
 * Puts losses down layer by layer; each layer is one fault (its losses must not overlap within a channel).
 * A loss with more than 32 good samples inside makes several spans. Losses are clipped to the recording; what was lost before stays with the earlier layer.
 */
export function damageOf(channels: number, frames: number, layers: readonly (readonly Loss[])[]): Damage {
  if (layers.length > 254) throw new Error(`${layers.length} layers of damage; 254 fit`);
  const masks = Array.from({ length: channels }, () => new Uint8Array(frames));
  return {
    frames,
    masks,
    layers: layers.map((losses, k) =>
      losses.flatMap((loss) => markLoss(loss, masks, k + 1)).sort((a, b) => a.channel - b.channel || a.start - b.start),
    ),
  };
}

/** Damage common to several reads plus that of one pass: the first argument keeps what both claim. */
export function joinDamage(first: Damage, second: Damage): Damage {
  const base = first.layers.length;
  if (base + second.layers.length > 254) throw new Error('more than 254 layers of damage');
  return {
    frames: first.frames,
    masks: first.masks.map((mask, c) =>
      mask.map((mark, i) => mark || (second.masks[c][i] && second.masks[c][i] + base)),
    ),
    layers: [...first.layers, ...second.layers],
  };
}

/** All lost spans, sorted by channel and start. */
export function lostSpans(damage: Damage): LostSpan[] {
  return damage.layers.flat().sort((a, b) => a.channel - b.channel || a.start - b.start);
}

export function countLost(mask: Uint8Array): number {
  let count = 0;
  for (let i = 0; i < mask.length; i++) if (mask[i]) count++;
  return count;
}

/** Good samples that end a span: longer than any rhythm inside a format's unit, far shorter than a unit. */
const SPLIT_FRAMES = 32;

function markLoss(loss: Loss, masks: readonly Uint8Array[], mark: number): LostSpan[] {
  const { channel, pattern, cause } = loss;
  const mask = masks[channel - 1];
  const spans: LostSpan[] = [];
  let [first, last, samples] = [-1, -1, 0];
  const close = () => {
    if (samples > 0) spans.push({ start: first, length: last - first + 1, channel, samples, pattern, cause });
    samples = 0;
  };
  for (let i = Math.max(0, loss.start); i < Math.min(mask.length, spanEnd(loss)); i++) {
    if (loss.lost && !loss.lost(i)) continue;
    mask[i] ||= mark;
    if (samples > 0 && i - last > SPLIT_FRAMES) close();
    if (samples === 0) first = i;
    last = i;
    samples++;
  }
  close();
  return spans;
}

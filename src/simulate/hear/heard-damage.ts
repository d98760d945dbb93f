// Losses to be heard in a rendering, the same whatever pieces it is made in: each window of ten seconds has its own, by seed. Not for scoring
// detectors (random-damage.ts, format-damage.ts).
import { type Rate, rateHz, type Span } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import type { LossPattern } from '../../tape/index.ts';
import type { Loss } from '../damage.ts';
import { headLosses } from '../format-damage.ts';
import { lossAt } from '../random-damage.ts';

export type HeardDamage =
  | { readonly kind: 'none' }
  /** one or two bursts of 1 to 20 ms in each window */
  | { readonly kind: 'dropouts'; readonly seed: number }
  /** three seconds of each window without one head */
  | {
      readonly kind: 'head';
      readonly pattern: LossPattern;
      readonly frameLengths?: readonly number[] | undefined;
    };

const WINDOW_SECONDS = 10;
const HEAD_SECONDS = { from: 4, for: 3 };

/** Losses that touch `frames` tape frames from `start`, relative to `start`. */
export function lossesWithin(damage: HeardDamage, start: number, frames: number, channels: number, rate: Rate): Loss[] {
  if (damage.kind === 'none') return [];
  const hz = rateHz(rate);
  const window = Math.round(WINDOW_SECONDS * hz);
  const out: Loss[] = [];
  for (let k = Math.max(0, Math.floor(start / window)); k * window < start + frames; k++) {
    for (const loss of windowLosses(damage, k * window, k, channels, hz, start)) {
      if (loss.start < frames && loss.start + loss.length > 0) out.push(loss);
    }
  }
  return out;
}

function windowLosses(
  damage: Exclude<HeardDamage, { kind: 'none' }>,
  from: number,
  index: number,
  channels: number,
  hz: number,
  start: number,
): Loss[] {
  const all = Array.from({ length: channels }, (_, c) => c + 1);
  if (damage.kind === 'dropouts') {
    const random = new Random(damage.seed).fork(`window ${index}`);
    return burstPlaces(random, hz).flatMap((span) =>
      all.map((channel) => lossAt(channel, from + span.start - start, span.length, 'drop-out')),
    );
  }
  const span = { start: from + Math.round(HEAD_SECONDS.from * hz) - start, length: Math.round(HEAD_SECONDS.for * hz) };
  // pairs of channels share the pattern of a stereo format
  return all.flatMap((channel) => {
    const first = channel - ((channel - 1) % 2);
    const pair = channel === first ? [channel] : [first, channel];
    const { pattern, frameLengths } = damage;
    const losses = headLosses({
      pattern,
      channels: pair,
      ...span,
      origin: -start,
      ...(frameLengths ? { frameLengths } : {}),
    });
    return losses.filter((loss) => loss.channel === channel);
  });
}

function burstPlaces(random: Random, hz: number): Span[] {
  const half = Math.round((WINDOW_SECONDS / 2) * hz);
  return Array.from({ length: 1 + random.integer(2) }, (_, k) => {
    const length = Math.max(1, Math.round((0.001 + 0.019 * random.uniform()) * hz));
    return { start: k * half + random.integer(half - length), length };
  });
}

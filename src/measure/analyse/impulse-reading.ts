// The impulses: which way they point, and how much of their sound comes before the peak (filters of linear phase ring on both sides).
import { IMPULSES } from '../programme/plan.ts';
import type { Stretch } from './stretch.ts';

export interface ImpulseReading {
  readonly polarity: 'positive' | 'negative' | 'cannot tell';
  /** share of the energy that comes before the peak, 0 to 1; null where the impulses drown in noise */
  readonly earlyShare: number | null;
}

const REACH_SECONDS = 0.02;

export function readImpulses(stretch: Stretch, channel: number): ImpulseReading {
  const { perSecond, from } = stretch;
  const samples = stretch.planes[channel];
  const reach = Math.round(REACH_SECONDS * perSecond);
  let [signs, early, all, noise, heard] = [0, 0, 0, 0, 0];
  for (let k = 1; k <= IMPULSES.count; k++) {
    const centre = Math.round((k * IMPULSES.everySeconds - from) * perSecond);
    let peak = centre;
    for (let n = centre - reach; n <= centre + reach; n++) {
      if (Math.abs(samples[n] ?? 0) > Math.abs(samples[peak] ?? 0)) peak = n;
    }
    heard++;
    signs += Math.sign(samples[peak] ?? 0);
    for (let n = 1; n <= reach; n++) {
      early += (samples[peak - n] ?? 0) ** 2;
      all += (samples[peak - n] ?? 0) ** 2 + (samples[peak + n] ?? 0) ** 2;
      noise += 2 * (samples[peak - 2 * reach - n] ?? 0) ** 2;
    }
    all += (samples[peak] ?? 0) ** 2;
  }
  if (heard === 0 || all < 4 * noise || all === 0) return { polarity: 'cannot tell', earlyShare: null };
  const isClear = Math.abs(signs) > 0.7 * heard;
  return {
    polarity: isClear ? (signs > 0 ? 'positive' : 'negative') : 'cannot tell',
    earlyShare: Math.max(0, early - noise / 2) / Math.max(all - noise, all / 2),
  };
}

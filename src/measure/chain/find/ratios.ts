// Ratios of rates at which the signal may come back: frames captured for each frame sent. Likely ones first.
import { type Rate, rateHz } from '../../../base/index.ts';

/** Rates in use (trade; certainty M): a converter in the chain turns one of them into another. */
const RATES_HZ = [48_000, 44_100, 32_000, 96_000, 88_200, 192_000, 176_400];
/** Slow or fast machines behind an analogue way. */
const SPEEDS = [1.0025, 0.9975, 1.005, 0.995];

/** `labels`: what the capture's header says and, where it is known, the signal's rate. */
export function likelyRatios(captured: Rate, sent?: Rate): number[] {
  const own = sent ? [rateHz(captured) / rateHz(sent)] : [];
  const base = sent ? rateHz(sent) : rateHz(captured);
  const others = RATES_HZ.map((hz) => (sent ? hz / base : base / hz));
  // a thousandth (video against film rates) is within what each search sees
  const all = [1, ...own, ...others, ...SPEEDS];
  const out: number[] = [];
  for (const x of all) {
    // 31.25 and 31.469 kHz stand near 32 kHz: what differs by less than the search sees is one ratio
    const isNew = !out.some((y) => Math.abs(x / y - 1) < 2e-4);
    if (x > 0.15 && x < 7 && isNew) out.push(x);
  }
  return out;
}

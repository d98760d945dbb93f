// The response as a whole: band edges, flatness, and whether it has the shape of an emphasis that was not undone.
import { emphasisDb } from '../../signal/index.ts';
import { difference, type Measured, measured, NOTHING } from './measured.ts';
import type { ResponsePoint } from './sweep-reading.ts';

export interface ResponseStory {
  /** relative to 997 Hz */
  readonly points: readonly ResponsePoint[];
  /** where it falls 3 dB below 997 Hz for good; a bound where it never does */
  readonly lowEdgeHz: Measured;
  readonly highEdgeHz: Measured;
  /** where it falls 20 dB below; null beyond what was sent */
  readonly stopHz: number | null;
  /** highest frequency that was sent and measured */
  readonly topHz: number;
  /** largest deviation either way between 40 Hz and 0.8 of the upper edge, dB */
  readonly flatnessDb: Measured;
  /** 50/15 us curve (IEC 60908, as computed in docs/sources.md): `boosted` recorded with emphasis that nobody took off, `cut` taken off without having been put on */
  readonly emphasis: 'none' | 'boosted' | 'cut' | 'cannot tell';
}

export function responseStory(points: readonly ResponsePoint[]): ResponseStory {
  const middle = at(points, 997);
  const relative = points.map(({ hz, gainDb }) => ({ hz, gainDb: difference(gainDb, middle) }));
  const topHz = points.at(-1)?.hz ?? 0;
  const high = edge(relative, -3, true);
  const low = edge(relative, -3, false);
  const inside = relative.filter(({ hz }) => hz >= 40 && hz <= 0.8 * (high?.hz ?? topHz));
  const worst = inside.reduce<Measured>(
    (most, { gainDb }) => (Math.abs(gainDb.value ?? 0) > Math.abs(most.value ?? 0) ? gainDb : most),
    measured(0, 0),
  );
  return {
    points: relative,
    lowEdgeHz: low ? measured(low.hz, low.uncertainty) : bound(points[0]?.hz, 'at-most'),
    highEdgeHz: high ? measured(high.hz, high.uncertainty) : bound(topHz, 'at-least'),
    stopHz: edge(relative, -20, true)?.hz ?? null,
    topHz,
    flatnessDb: worst.value === null ? NOTHING : measured(Math.abs(worst.value), worst.uncertainty ?? 0),
    emphasis: emphasisOf(relative.filter(({ hz }) => hz >= 100 && hz <= Math.min(12_000, 0.85 * (high?.hz ?? topHz)))),
  };
}

function bound(hz: number | undefined, limit: 'at-most' | 'at-least'): Measured {
  return hz === undefined ? NOTHING : { value: hz, uncertainty: null, limit };
}

function at(points: readonly ResponsePoint[], hz: number): Measured {
  const near = points.reduce<ResponsePoint | undefined>(
    (best, one) => (best && Math.abs(Math.log(best.hz / hz)) <= Math.abs(Math.log(one.hz / hz)) ? best : one),
    undefined,
  );
  return near?.gainDb ?? NOTHING;
}

/** The crossing outermost from the middle; between two points by a straight line, known to a third of their distance and the slope's share of noise. */
function edge(
  points: readonly ResponsePoint[],
  levelDb: number,
  isHigh: boolean,
): { readonly hz: number; readonly uncertainty: number } | undefined {
  const order = isHigh ? points : [...points].reverse();
  const from = order.findIndex(({ hz }) => (isHigh ? hz >= 997 : hz <= 997));
  for (let k = Math.max(1, from + 1); k < order.length; k++) {
    const [a, b] = [order[k - 1], order[k]];
    const [low, high] = [a.gainDb.value ?? 0, b.gainDb.value ?? Number.NEGATIVE_INFINITY];
    if (high >= levelDb || low < levelDb) continue;
    if (order.slice(k).some(({ gainDb }) => (gainDb.value ?? Number.NEGATIVE_INFINITY) > levelDb)) continue;
    const share = Number.isFinite(high) ? (low - levelDb) / (low - high) : 1;
    const noise = ((b.gainDb.uncertainty ?? 0) * Math.abs(b.hz - a.hz)) / Math.max(0.1, low - high);
    return {
      hz: a.hz + share * (b.hz - a.hz),
      uncertainty: Math.abs(b.hz - a.hz) / 3 + Math.min(noise, Math.abs(b.hz - a.hz)),
    };
  }
  return undefined;
}

function emphasisOf(points: readonly ResponsePoint[]): ResponseStory['emphasis'] {
  if (points.length < 12) return 'cannot tell';
  const misfit = (sign: number) => {
    const rest = points.map(({ hz, gainDb }) => (gainDb.value ?? 0) - sign * (emphasisDb(hz) - emphasisDb(997)));
    return Math.sqrt(rest.reduce((sum, x) => sum + x * x, 0) / rest.length);
  };
  const [plain, boosted, cut] = [misfit(0), misfit(1), misfit(-1)];
  if (plain < 1 && plain < boosted && plain < cut) return 'none';
  if (boosted < 0.7 && boosted < plain / 3) return 'boosted';
  if (cut < 0.7 && cut < plain / 3) return 'cut';
  return plain < Math.min(boosted, cut) ? 'none' : 'cannot tell';
}

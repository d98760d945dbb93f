// How well a rate explains the lasting tones of a recording: at each rate known lines stand at their own places. Held against hundreds of rates that nobody
// uses, which tell what chance, and music, give.
import type { LineFamily } from './known-lines.ts';
import { SPECTRUM_SIZE } from './lasting-spectrum.ts';

export interface LineSupport {
  readonly family: LineFamily;
  readonly rateHz: number;
  /** mean excess at the places of the tones, natural logarithm of power */
  readonly score: number;
  /** frequency of the fundamental or line at the header's rate, Hz */
  readonly seenHz: number;
  /** rate that puts it exactly right */
  readonly fittedHz: number;
}

const DECOYS = 400;
/** Rates within this of one in question share its first harmonics in one bin: it would be judged by itself. */
const NEAR = 0.03;

/** A score below this is no line, whatever the decoys say: for one line, and for the mean over a comb of them. */
const LEAST_LINE = 2;
const LEAST_COMB = 1;
/** It must stand so far above the best of the decoys and above their spread. */
const ABOVE_BEST = 1.3;
const DEVIATIONS = 4;
/** One strong harmonic must not stand for all. */
const MOST_EXCESS = 4;

/** One entry for each rate that a family supports beyond all decoys. */
export function lineSupport(
  excess: Float64Array,
  headerHz: number,
  rates: readonly number[],
  families: readonly LineFamily[],
): LineSupport[] {
  return families.flatMap((family) => {
    const decoys = decoyRates(headerHz, rates).map((hz) => scoreAt(excess, headerHz, hz, family)?.score ?? -1);
    const least = leastScore(decoys, family);
    return rates.flatMap((rateHz): LineSupport[] => {
      const found = scoreAt(excess, headerHz, rateHz, family);
      if (!found || found.score < least) return [];
      return [{ family, rateHz, ...found }];
    });
  });
}

/** The best that any family gives each rate, supported or not. */
export function bestScores(
  excess: Float64Array,
  headerHz: number,
  rates: readonly number[],
  families: readonly LineFamily[],
): number[] {
  return rates.map((hz) => Math.max(0, ...families.map((family) => scoreAt(excess, headerHz, hz, family)?.score ?? 0)));
}

/** Undefined where fewer than half of the tones lie below half the rate. */
function scoreAt(
  excess: Float64Array,
  headerHz: number,
  rateHz: number,
  { hz, tolerancePpm }: LineFamily,
): { score: number; seenHz: number; fittedHz: number } | undefined {
  const binHz = headerHz / SPECTRUM_SIZE;
  const usable = hz.filter((one) => one < 0.49 * rateHz);
  if (usable.length < hz.length / 2) return undefined;
  const widest = (usable[usable.length - 1] * headerHz * tolerancePpm * 1e-6) / rateHz / binHz;
  const steps = Math.max(1, Math.ceil(2 * widest));
  let best: { score: number; drift: number } | undefined;
  for (let step = -steps; step <= steps; step++) {
    const drift = 1 + (step / steps) * tolerancePpm * 1e-6;
    let sum = 0;
    for (const one of usable) sum += Math.min(MOST_EXCESS, peakNear(excess, (one * drift * headerHz) / rateHz / binHz));
    if (!best || sum / usable.length > best.score) best = { score: sum / usable.length, drift };
  }
  if (!best) return undefined;
  const strongest = usable.reduce((a, b) =>
    peakNear(excess, (b * headerHz) / rateHz / binHz) > peakNear(excess, (a * headerHz) / rateHz / binHz) ? b : a,
  );
  const seenHz = refined(excess, (strongest * best.drift * headerHz) / rateHz / binHz) * binHz;
  return { score: best.score, seenHz, fittedHz: (strongest * headerHz) / seenHz };
}

function peakNear(excess: Float64Array, bin: number): number {
  const k = Math.round(bin);
  return k < 1 || k + 1 >= excess.length ? -1 : excess[k];
}

/** The top of the parabola through the highest bin within two and its neighbours. */
function refined(excess: Float64Array, bin: number): number {
  let k = Math.round(bin);
  for (let near = k - 2; near <= k + 2; near++) if (excess[near] > excess[k]) k = near;
  const [a, b, c] = [excess[k - 1], excess[k], excess[k + 1]];
  const bend = a - 2 * b + c;
  return bend < 0 ? k + (0.5 * (a - c)) / bend : k;
}

/** From 0.6 to 1.7 of the header's rate, away from those in question. */
function decoyRates(headerHz: number, rates: readonly number[]): number[] {
  const out: number[] = [];
  for (let i = 0; out.length < DECOYS && i < 40 * DECOYS; i++) {
    const hz = headerHz * 0.6 * (1.7 / 0.6) ** ((i * 0.618034 + 0.37) % 1);
    if (rates.every((rate) => Math.abs(hz / rate - 1) > NEAR)) out.push(hz);
  }
  return out;
}

function leastScore(decoys: readonly number[], { hz }: LineFamily): number {
  const sorted = [...decoys].sort((a, b) => a - b);
  const middle = sorted[sorted.length >> 1];
  const apart = sorted.map((one) => Math.abs(one - middle)).sort((a, b) => a - b);
  const deviation = 1.48 * apart[apart.length >> 1];
  const own = hz.length > 1 ? LEAST_COMB : LEAST_LINE;
  return Math.max(own, ABOVE_BEST * sorted[sorted.length - 1], middle + DEVIATIONS * deviation);
}

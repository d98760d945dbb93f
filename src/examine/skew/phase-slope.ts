// The delay between two channels from the slope of the phase of their cross spectrum, with its uncertainty, and whether one delay
// explains the phase at all. Bins weigh by coherence c: the variance of a phase from n windows is (1 - c) / (2 n c) (common practice,
// G. C. Carter's coherence estimates; certainty M). What bins scatter beyond that widens the stated uncertainty.
import type { PairSpectrum } from './pair-spectrum.ts';

export interface PhaseSlope {
  /** of the second channel behind the first, in samples */
  readonly delay: number;
  /** three standard deviations, in samples */
  readonly uncertainty: number;
  readonly isInverted: boolean;
  /** share of the bins with coherent sound */
  readonly coherentShare: number;
  /** 1 where every coherent bin has the phase of this delay, 0 where phases are anywhere */
  readonly agreement: number;
  readonly isClear: boolean;
  /** why it is not clear; empty when it is */
  readonly reason: string;
}

interface Bins {
  /** radians a sample */
  readonly turn: Float64Array;
  readonly phase: Float64Array;
  readonly weight: Float64Array;
  readonly all: number;
}

/** Delays are sought within `farthest` samples either way, and those found at the border are not clear. */
export function phaseSlope(pair: PairSpectrum, farthest: number): PhaseSlope {
  const bins = coherentBins(pair);
  const coarse = bestDelay(bins, 16);
  const isInverted = coarse.sum < 0;
  const { delay, uncertainty, residue } = refine(bins, coarse.delay, isInverted);
  const total = bins.weight.reduce((sum, weight) => sum + weight, 0);
  const agreement = total === 0 ? 0 : Math.abs(sumAt(bins, delay)) / total;
  const coherentShare = bins.turn.length / bins.all;
  const reason = reasonAgainst({ coherentShare, agreement, residue, isFar: Math.abs(delay) > farthest });
  return { delay, uncertainty, isInverted, coherentShare, agreement, isClear: reason === '', reason };
}

function reasonAgainst(found: { coherentShare: number; agreement: number; residue: number; isFar: boolean }): string {
  if (found.coherentShare < 0.05)
    return `only ${(100 * found.coherentShare).toFixed(1)} % of the spectrum is common to both channels`;
  if (found.agreement < 0.9)
    return `one delay explains only ${(100 * found.agreement).toFixed(0)} % of the common sound`;
  if (found.isFar) return 'the channels are further apart than any pair of converters';
  return '';
}

/** Bins whose coherence is far beyond what unrelated sound gives by chance: expected 1/n, above x with probability (1-x)^(n-1). */
function coherentBins(pair: PairSpectrum): Bins {
  const n = pair.windows;
  const least = Math.max(0.3, 1 - 1e-4 ** (1 / (n - 1)));
  const kept: [number, number, number][] = [];
  // The lowest bins hold offset and hum; the highest, the slopes of filters that differ between channels.
  const [from, to] = [4, Math.floor(0.45 * pair.size)];
  for (let k = from; k < to; k++) {
    const power = pair.first[k] * pair.second[k];
    const coherence = power > 0 ? (pair.crossRe[k] ** 2 + pair.crossIm[k] ** 2) / power : 0;
    if (coherence < least) continue;
    // Whole copies would weigh without limit; beyond 0.999 other errors lead.
    const capped = Math.min(0.999, coherence);
    kept.push([
      (2 * Math.PI * k) / pair.size,
      Math.atan2(pair.crossIm[k], pair.crossRe[k]),
      (2 * n * capped) / (1 - capped),
    ]);
  }
  return {
    turn: Float64Array.from(kept, ([turn]) => turn),
    phase: Float64Array.from(kept, ([, phase]) => phase),
    weight: Float64Array.from(kept, ([, , weight]) => weight),
    all: to - from,
  };
}

function sumAt({ turn, phase, weight }: Bins, delay: number): number {
  let sum = 0;
  for (let k = 0; k < turn.length; k++) sum += weight[k] * Math.cos(phase[k] - turn[k] * delay);
  return sum;
}

/** The largest sum by magnitude (opposite polarity gives a negative one), on a grid of a tenth of a sample. */
function bestDelay(bins: Bins, farthest: number): { delay: number; sum: number } {
  let best = { delay: 0, sum: 0 };
  for (let n = -10 * farthest; n <= 10 * farthest; n++) {
    const sum = sumAt(bins, n / 10);
    if (Math.abs(sum) > Math.abs(best.sum)) best = { delay: n / 10, sum };
  }
  return best;
}

/** Weighted least squares for the slope, phases wrapped around the delay so far. */
function refine(
  bins: Bins,
  start: number,
  isInverted: boolean,
): { delay: number; uncertainty: number; residue: number } {
  let delay = start;
  let information = 0;
  let residue = 0;
  for (let pass = 0; pass < 6; pass++) {
    let pull = 0;
    information = 0;
    residue = 0;
    for (let k = 0; k < bins.turn.length; k++) {
      const error = wrap(bins.phase[k] - bins.turn[k] * delay - (isInverted ? Math.PI : 0));
      // One wild bin must not lead: beyond a radian its pull stays.
      const pulled = Math.max(-1, Math.min(1, error));
      pull += bins.weight[k] * bins.turn[k] * pulled;
      information += bins.weight[k] * bins.turn[k] ** 2;
      residue += bins.weight[k] * error ** 2;
    }
    if (information > 0) delay += pull / information;
  }
  const excess = Math.max(1, residue / Math.max(1, bins.turn.length - 1));
  return {
    delay,
    residue: excess,
    uncertainty: information > 0 ? 3 * Math.sqrt(excess / information) : Number.MAX_VALUE,
  };
}

function wrap(angle: number): number {
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}

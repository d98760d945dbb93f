// The 50/15 us emphasis (IEC 60908 type; docs/sources.md): its law in decibels and a digital filter that takes it off. Not for finding
// out whether a recording has it (examine/emphasis).
import { fftPlan } from './fft.ts';

const LONG_SECONDS = 50e-6;
const SHORT_SECONDS = 15e-6;

/** What pre-emphasis adds at a frequency; de-emphasis takes it off. 0 dB at 0 Hz, 10.458 dB far up. */
export function emphasisDb(hz: number): number {
  const w = 2 * Math.PI * hz;
  return 10 * Math.log10((1 + (w * LONG_SECONDS) ** 2) / (1 + (w * SHORT_SECONDS) ** 2));
}

/** Taps on each side of the middle one. */
export const EMPHASIS_REACH = 128;
const GRID = 16_384;
/** From here to half the rate the phase is turned back to 0, where a sampled filter must have it. */
const TURN_FROM = 0.9;

/**
 * The law in level and in phase, as the circuits have it: out[n] = sum over k of taps[k] * x[n + EMPHASIS_REACH - k]. The level is the law's at every
 * frequency, the phase up to 0.9 of half the rate: what circuits put on comes off without a trace.
 */
export function deEmphasisTaps(rateHz: number): Float64Array {
  const re = new Float64Array(GRID);
  const im = new Float64Array(GRID);
  for (let k = 0; k <= GRID / 2; k++) {
    const hz = (k * rateHz) / GRID;
    const gain = 10 ** (-emphasisDb(hz) / 20);
    const w = 2 * Math.PI * hz;
    const phase = (Math.atan(w * SHORT_SECONDS) - Math.atan(w * LONG_SECONDS)) * keptPhase((2 * k) / GRID);
    re[k] = gain * Math.cos(phase);
    im[k] = gain * Math.sin(phase);
    const mirror = (GRID - k) % GRID;
    re[mirror] = re[k];
    im[mirror] = k === 0 || k === GRID / 2 ? 0 : -im[k];
  }
  fftPlan(GRID).inverse(re, im);
  return Float64Array.from({ length: 2 * EMPHASIS_REACH + 1 }, (_, k) => re[(k - EMPHASIS_REACH + GRID) % GRID]);
}

/** 1 up to TURN_FROM of half the rate, then smoothly to 0 at it. */
function keptPhase(share: number): number {
  return share <= TURN_FROM ? 1 : 0.5 + 0.5 * Math.cos((Math.PI * (share - TURN_FROM)) / (1 - TURN_FROM));
}

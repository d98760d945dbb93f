// Where chirps of the pilot stand in a capture of any length, found by their shape whatever the level, polarity and (within limits) the rate.
// Streams; coarse to a few frames. Not for deciding which chirps make a pilot (find-pilots.ts).
import { type FrameSource, rateHz, type StopSignal } from '../../base/index.ts';
import { type Fft, fftPlan, fftSize } from '../../signal/index.ts';
import { CHIRP_SECONDS, chirpAt } from '../programme/pilot.ts';

export interface Chirp {
  readonly way: 'up' | 'down';
  /** frame at which the chirp, were it played at the labelled rate, would begin; may be fractional */
  readonly frame: number;
  /** share of the stretch's energy that is the chirp, 0 to 1 */
  readonly likeness: number;
}

export interface ChirpSearch {
  readonly chirps: readonly Chirp[];
  /** whether any sample differs from its neighbours: false for digital silence */
  readonly hasSound: boolean;
}

/** chirps reach 8 kHz */
const LEAST_RATE_HZ = 20_000;
/** a whole number of sums whatever is added up */
const BLOCK_FRAMES = 16_384;
const LEAST_LIKENESS = 0.12;
/** More than this is music that happens to look like chirps; the best are kept. */
const MOST_CHIRPS = 400;

/**
 * `speed`: the chirps are expected `speed` times as fast as written (1 finds 0.8 to 1.25). `channel` is 0-based. Neighbouring frames are
 * added up as far as the chirps' band allows, so places are exact to that many frames.
 */
export async function searchChirps(
  source: FrameSource,
  channel: number,
  speed: number,
  stop?: StopSignal,
): Promise<ChirpSearch> {
  const together = Math.max(1, Math.floor(rateHz(source.info.rate) / (LEAST_RATE_HZ * Math.max(1, speed))));
  const hz = rateHz(source.info.rate) / together;
  const length = Math.floor((CHIRP_SECONDS * hz) / speed);
  const size = fftSize(4 * length);
  const hop = size - length;
  const plan = fftPlan(size);
  const matchers = (['up', 'down'] as const).map((way) => newMatcher(way, hz / speed, length, plan));
  const found: Chirp[] = [];
  const window = new Float64Array(size);
  let hasSound = false;
  let filled = 0;
  let start = 0;
  const flush = (isEnd: boolean) => {
    window.fill(0, filled);
    const energy = runningEnergy(window, length);
    const re = window.slice();
    const im = new Float64Array(size);
    plan.forward(re, im);
    for (const matcher of matchers) found.push(...matcher(re, im, energy, start, isEnd ? filled : hop));
    window.copyWithin(0, hop);
    start += hop;
    filled = Math.max(0, filled - hop);
  };
  for await (const block of source.blocks({ stop, blockFrames: BLOCK_FRAMES * together })) {
    const plane = block.planes[channel].subarray(0, block.frames);
    hasSound ||= plane.some((x) => x !== plane[0]);
    for (let at = 0; at < block.frames; at += together) {
      let sum = 0;
      for (let k = at; k < Math.min(at + together, block.frames); k++) sum += plane[k];
      window[filled++] = sum;
      if (filled === size) flush(false);
    }
  }
  if (filled > 0) flush(true);
  const chirps = strongest(found, Math.round(length / 2));
  return { chirps: chirps.map((chirp) => ({ ...chirp, frame: (chirp.frame + 0.5) * together - 0.5 })), hasSound };
}

/** Takes the transform of a window and the energy from each of its places. */
type Matcher = (re: Float64Array, im: Float64Array, energy: Float64Array, start: number, count: number) => Chirp[];

/** Correlation with the chirp at every phase at once (the positive frequencies only), by transform. */
function newMatcher(way: 'up' | 'down', hz: number, length: number, plan: Fft): Matcher {
  const { size } = plan;
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  let own = 0;
  for (let n = 0; n < length; n++) own += (re[n] = chirpAt(n / hz, way, 0)) ** 2;
  plan.forward(re, im);
  return (inRe, inIm, energy, start, count) => {
    const outRe = new Float64Array(size);
    const outIm = new Float64Array(size);
    for (let k = 1; k < size / 2; k++) {
      outRe[k] = 2 * (inRe[k] * re[k] + inIm[k] * im[k]);
      outIm[k] = 2 * (inIm[k] * re[k] - inRe[k] * im[k]);
    }
    plan.inverse(outRe, outIm);
    return peaks(outRe, outIm, energy, own, way, start, Math.min(count, size - length));
  };
}

function peaks(
  re: Float64Array,
  im: Float64Array,
  energy: Float64Array,
  own: number,
  way: 'up' | 'down',
  start: number,
  count: number,
): Chirp[] {
  const likeness = (n: number) => (re[n] ** 2 + im[n] ** 2) / (own * energy[n]);
  const out: Chirp[] = [];
  for (let n = 0; n < count; n++) {
    if (energy[n] <= 1e-9 || re[n] ** 2 + im[n] ** 2 < LEAST_LIKENESS * own * energy[n]) continue;
    const value = likeness(n);
    out.push({ way, frame: start + n, likeness: Math.min(1, value) });
  }
  return strongest(out, 2000);
}

/** Energy of the `length` samples from each place. */
function runningEnergy(window: Float64Array, length: number): Float64Array {
  const out = new Float64Array(window.length);
  let sum = 0;
  for (let n = 0; n < Math.min(length, window.length); n++) sum += window[n] * window[n];
  for (let n = 0; n < window.length; n++) {
    out[n] = Math.max(0, sum);
    sum -= window[n] * window[n];
    if (n + length < window.length) sum += window[n + length] * window[n + length];
  }
  return out;
}

/** The best within `reach` frames of each other, in order of place. */
function strongest(all: readonly Chirp[], reach: number): Chirp[] {
  const ranked = [...all].sort((a, b) => b.likeness - a.likeness || a.frame - b.frame);
  const kept: Chirp[] = [];
  for (const chirp of ranked) {
    if (kept.length >= MOST_CHIRPS) break;
    if (!kept.some((other) => other.way === chirp.way && Math.abs(other.frame - chirp.frame) < reach)) kept.push(chirp);
  }
  return kept.sort((a, b) => a.frame - b.frame);
}

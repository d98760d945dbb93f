// Small pictures of a recording for finding the rough place: its loudness fifty times a second, or the signal itself at
// about 4 kHz. Bounded memory: 108 min give 2.6 MB per channel. Not for exact places.
import { type FrameSource, rateHz, type StopSignal, throwIfStopped } from '../base/index.ts';

export interface Feature {
  /** seconds between values, the same for all recordings of one kind of feature */
  readonly stepSeconds: number;
  /** per file channel */
  readonly channels: readonly Float64Array[];
}

const ENVELOPE_SECONDS = 0.02;
const REDUCED_RATE_HZ = 4000;
const SMOOTH_STEPS = 25;

/** Logarithm of the mean slope in each 20 ms, less its average over half a second: the rhythm, whatever the level. */
export function envelopeOf(source: FrameSource, stop?: StopSignal): Promise<Feature> {
  return collect(source, ENVELOPE_SECONDS, addSlopes, (v) => levelled(v.map((x) => Math.log(x + 1))), stop);
}

/** Means over 0.25 ms and their differences: the lower 2 kHz, tilted upwards. */
export function reducedOf(source: FrameSource, stop?: StopSignal): Promise<Feature> {
  return collect(source, 1 / REDUCED_RATE_HZ, addSamples, differences, stop);
}

type Add = (plane: Int32Array, before: number, bins: Float64Array, binOf: (n: number) => number) => void;

async function collect(
  source: FrameSource,
  stepSeconds: number,
  add: Add,
  shape: (bins: Float64Array) => Float64Array,
  stop?: StopSignal,
): Promise<Feature> {
  const perFrame = 1 / (stepSeconds * rateHz(source.info.rate));
  const bins = Array.from({ length: source.info.channels }, () => new Float64Array(0));
  const last = new Int32Array(source.info.channels);
  const length = Math.max(1, Math.ceil(source.info.frames * perFrame));
  for (const c of bins.keys()) bins[c] = new Float64Array(length);
  for await (const block of source.blocks({ stop })) {
    throwIfStopped(stop);
    for (const [c, plane] of block.planes.entries()) {
      const samples = plane.subarray(0, block.frames);
      add(samples, last[c], bins[c], (n) => Math.min(length - 1, Math.floor((block.start + n) * perFrame)));
      last[c] = samples[block.frames - 1] ?? last[c];
    }
  }
  return { stepSeconds, channels: bins.map(shape) };
}

function addSlopes(plane: Int32Array, before: number, bins: Float64Array, binOf: (n: number) => number): void {
  for (let n = 0, last = before; n < plane.length; n++) {
    bins[binOf(n)] += Math.abs(plane[n] - last);
    last = plane[n];
  }
}

function addSamples(plane: Int32Array, _before: number, bins: Float64Array, binOf: (n: number) => number): void {
  for (let n = 0; n < plane.length; n++) bins[binOf(n)] += plane[n];
}

function differences(values: Float64Array): Float64Array {
  return values.map((v, n) => (n === 0 ? 0 : v - values[n - 1]));
}

function levelled(values: Float64Array): Float64Array {
  const sums = new Float64Array(values.length + 1);
  for (let n = 0; n < values.length; n++) sums[n + 1] = sums[n] + values[n];
  return values.map((v, n) => {
    const from = Math.max(0, n - SMOOTH_STEPS / 2 - 0.5);
    const to = Math.min(values.length, n + SMOOTH_STEPS / 2 + 0.5);
    return v - (sums[to] - sums[from]) / (to - from);
  });
}

// The place of a capture that resembles another without equal samples: roughly by features, then by whitened correlation
// of windows spread over the recording, down to fractions of a frame, with drift. What kind of copy it is: classify.ts.
import { type FrameSource, rateHz, type StopSignal, throwIfStopped } from '../base/index.ts';
import {
  correlationOf,
  crossSpectrum,
  type Fft,
  fftPlan,
  fftSize,
  fractionalPeak,
  type Peak,
  peakOf,
  peakSignificance,
  whiten,
} from '../signal/index.ts';
import { envelopeOf, type Feature, reducedOf } from './features.ts';
import { locate } from './locate.ts';
import type { ChannelPair } from './match.ts';
import { type FittedMap, fitMap, mapFrame, type TimeMap, type TimePoint } from './time-map.ts';
import { type Warp, warpBy } from './warp.ts';

export interface Likeness {
  readonly pair: ChannelPair;
  /** reference frame = capture frame * slope + offset */
  readonly map: FittedMap;
  /** windows that found the place again, and windows tried */
  readonly found: number;
  readonly tried: number;
  /** median peak over the spread of other places */
  readonly significance: number;
}

/** Recordings up to this long (44 s at 48 kHz) are compared at 4 kHz, longer ones by loudness. */
const SHORT_FRAMES = 1 << 21;
const MIN_SIGNIFICANCE = 7;
const LONE_SIGNIFICANCE = 10;
const MAX_RIVAL = 0.9;
const MAX_PAIRS = 16;
const MAX_DRIFT = 0.003;
const FINE_PLACES = 24;

export class FeatureCache {
  readonly #kept = new Map<string, Promise<Feature>>();
  readonly #stop: StopSignal | undefined;

  constructor(stop?: StopSignal) {
    this.#stop = stop;
  }

  of(index: number, source: FrameSource, kind: 'envelope' | 'reduced'): Promise<Feature> {
    const key = `${index} ${kind}`;
    const known = this.#kept.get(key);
    if (known) return known;
    const made = kind === 'envelope' ? envelopeOf(source, this.#stop) : reducedOf(source, this.#stop);
    this.#kept.set(key, made);
    return made;
  }
}

export interface Side {
  readonly index: number;
  readonly source: FrameSource;
}

/** Null with a reason when no place stands out. */
export async function findLikeness(
  own: Side,
  other: Side,
  allowed: readonly ChannelPair[],
  cache: FeatureCache,
  stop?: StopSignal,
): Promise<Likeness | string> {
  const rough = await roughPlace(own, other, allowed, cache);
  if (typeof rough === 'string') return rough;
  throwIfStopped(stop);
  const { pair, map } = rough;
  const first = await measure({ own: own.source, other: other.source, pair }, map, 8192, 2048);
  const fitted = fitMap(first.points, map.slope, MAX_DRIFT, 24);
  if (!fitted || fitted.used * 3 < first.tried) return lost(first.points.length, first.tried);
  throwIfStopped(stop);
  const wide = own.source.info.frames > 300_000 ? 32_000 : 8000;
  const second = await measure({ own: own.source, other: other.source, pair }, fitted, wide, 64);
  const final = fitMap(second.points, fitted.slope, MAX_DRIFT, 2);
  if (!final || final.used * 3 < second.tried) return lost(second.points.length, second.tried);
  return { pair, map: final, found: final.used, tried: second.tried, significance: second.significance };
}

function lost(found: number, tried: number): string {
  return `a likeness was found, but only ${found} of ${tried} places agree on one straight line of time: perhaps slips or a wandering speed`;
}

async function roughPlace(
  own: Side,
  other: Side,
  allowed: readonly ChannelPair[],
  cache: FeatureCache,
): Promise<{ pair: ChannelPair; map: TimeMap } | string> {
  const isShort = Math.max(own.source.info.frames, other.source.info.frames) <= SHORT_FRAMES;
  const kind = isShort ? 'reduced' : 'envelope';
  const [a, b] = await Promise.all([cache.of(own.index, own.source, kind), cache.of(other.index, other.source, kind)]);
  const width = Math.min(isShort ? 4096 : 1500, a.channels[0].length);
  const places = isShort ? 5 : 9;
  let best = { pair: allowed[0], points: [] as RoughPoint[], sum: 0 };
  let strongest = 0;
  for (const pair of allowed.slice(0, MAX_PAIRS)) {
    const all = roughPoints(a.channels[pair[0]], b.channels[pair[1]], width, places);
    strongest = Math.max(strongest, ...all.map((p) => p.significance));
    const points = all.filter((p) => p.significance >= MIN_SIGNIFICANCE && p.rival <= MAX_RIVAL);
    const sum = points.reduce((total, p) => total + p.significance, 0);
    if (sum > best.sum) best = { pair, points, sum };
  }
  const slope = rateHz(other.source.info.rate) / rateHz(own.source.info.rate);
  const perStep = a.stepSeconds * rateHz(other.source.info.rate);
  const toPoint = (p: RoughPoint): TimePoint => ({ own: (p.own * perStep) / slope, other: p.other * perStep });
  const map = fitMap(best.points.map(toPoint), slope, MAX_DRIFT, Math.max(3 * perStep, 200));
  const isLone = map !== null && map.used === 1 && best.sum < LONE_SIGNIFICANCE;
  if (!map || isLone) {
    return (
      `no place stands out in correlation: the best is ${strongest.toFixed(1)} times the spread of all other places, ` +
      `${MIN_SIGNIFICANCE} is asked for`
    );
  }
  return { pair: best.pair, map };
}

interface RoughPoint {
  readonly own: number;
  readonly other: number;
  readonly significance: number;
  readonly rival: number;
}

function roughPoints(own: Float64Array, other: Float64Array, width: number, places: number): RoughPoint[] {
  const points: RoughPoint[] = [];
  const count = Math.min(places, Math.max(1, Math.floor((2 * own.length) / width) - 1));
  for (let n = 0; n < count; n++) {
    const at = count === 1 ? 0 : Math.floor(((own.length - width) * n) / (count - 1));
    const found = locate(other, own.slice(at, at + width));
    if (found) points.push({ own: at, other: found.at, significance: found.significance, rival: found.rival });
  }
  return points;
}

interface Measured {
  readonly points: readonly TimePoint[];
  readonly tried: number;
  readonly significance: number;
}

export interface PairSides {
  readonly own: FrameSource;
  readonly other: FrameSource;
  readonly pair: ChannelPair;
}

/** Own positions spread over what both captures have under the map, `width` frames free on each side. */
export function spreadPlaces(sides: PairSides, map: TimeMap, width: number, places: number): number[] {
  const from = Math.max(0, -map.offset / map.slope) + 64;
  const end = (sides.other.info.frames - map.offset) / map.slope;
  const to = Math.min(sides.own.info.frames, end) - width - 64;
  if (to <= from) return [];
  const count = Math.max(1, Math.min(places, Math.floor((2 * (to - from)) / width) + 1));
  return Array.from({ length: count }, (_, n) =>
    Math.floor(count === 1 ? (from + to) / 2 : from + ((to - from) * n) / (count - 1)),
  );
}

interface Window {
  readonly width: number;
  /** frames searched on either side */
  readonly margin: number;
  /** null where the drift within the width is too small to matter */
  readonly warp: Warp | null;
  readonly plan: Fft;
}

/** Frames around a window that the interpolation needs. */
const EDGE = 64;

async function measure(sides: PairSides, map: TimeMap, width: number, margin: number): Promise<Measured> {
  const plan = fftPlan(fftSize(Math.ceil(width * map.slope) + 2 * margin));
  const at: Window = {
    width,
    margin,
    plan,
    warp: Math.abs(map.slope - 1) * width < 0.3 ? null : warpBy(1 / map.slope),
  };
  const points: TimePoint[] = [];
  const significances: number[] = [];
  const places = spreadPlaces(sides, map, at.width, FINE_PLACES);
  for (const own of places) {
    const found = await measureAt(sides, map, own, at);
    if (!found) continue;
    significances.push(found.significance);
    points.push(found.point);
  }
  significances.sort((a, b) => a - b);
  return { points, tried: places.length, significance: significances[significances.length >> 1] ?? 0 };
}

async function measureAt(
  sides: PairSides,
  map: TimeMap,
  own: number,
  { width, margin, warp, plan }: Window,
): Promise<{ point: TimePoint; significance: number } | null> {
  const start = Math.floor(mapFrame(map, own)) - margin;
  const frames = Math.ceil(width * map.slope) + 2 * margin;
  const x = await planeOf(sides.other, sides.pair[1], start, frames);
  const plane = await planeOf(sides.own, sides.pair[0], own - EDGE, width + 2 * EDGE);
  const y = warp ? warp(plane, EDGE, Math.floor(width * map.slope)) : plane.slice(EDGE, EDGE + width);
  const slope = warp ? map.slope : 1;
  if (!x.some((v) => v !== 0) || !y.some((v) => v !== 0)) return null;
  const spectrum = whiten(crossSpectrum(x, y, plan), 0.1);
  const correlation = correlationOf(spectrum, 0, 2 * margin, plan);
  const whole = peakOf(correlation);
  const significance = peakSignificance(correlation, whole, 8);
  if (significance < MIN_SIGNIFICANCE || whole.lag < 2 || whole.lag > 2 * margin - 2) return null;
  const peak: Peak = fractionalPeak(spectrum, whole);
  // what drift is left smears the peak evenly, so it tells of the window's middle
  const half = y.length / 2;
  return { point: { own: own + half / slope, other: start + peak.lag + half }, significance };
}

/** One channel as floats, zero where the source has no frames. */
export async function planeOf(
  source: FrameSource,
  channel: number,
  start: number,
  frames: number,
): Promise<Float64Array> {
  const out = new Float64Array(frames);
  const from = Math.max(0, start);
  if (start + frames <= 0) return out;
  const block = await source.read(from, start + frames - from);
  out.set(block.planes[channel].subarray(0, block.frames), block.start - start);
  return out;
}

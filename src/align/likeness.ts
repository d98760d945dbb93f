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
import { fade, locate } from './locate.ts';
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
const ROUGH_WINDOWS = 9;
const MIN_SIGNIFICANCE = 7;
/** One window alone must stand out this far; several add up to it. */
const LONE_SIGNIFICANCE = 10;
/** Another place with this share of the best one's votes is looked at closely as well. */
const RIVAL_SHARE = 0.5;
const MAX_PLACES = 3;
const NEAR_STEPS = 4;
const MAX_PAIRS = 16;
const MAX_DRIFT = 0.003;
const FINE_PLACES = 16;
/** A window's peak among the few lags that are left; agreement with other windows is the stronger test. */
const MIN_NEAR_SIGNIFICANCE = 2.5;
/** Frames searched around the rough place, which is good to two steps of its feature. */
const SHORT_MARGIN = 192;
const LONG_MARGIN = 2048;

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

/**
 * The place that most windows share, and up to two rivals where the recording resembles itself; or the reason why none
 * stands out. Which one is right, what is left of the samples must tell (classify.ts).
 */
export async function findLikeness(
  own: Side,
  other: Side,
  allowed: readonly ChannelPair[],
  cache: FeatureCache,
  stop?: StopSignal,
): Promise<readonly Likeness[] | string> {
  const rough = await roughPlaces(own, other, allowed, cache);
  if (typeof rough === 'string') return rough;
  const found: Likeness[] = [];
  let reason = '';
  for (const place of rough) {
    throwIfStopped(stop);
    const likeness = await refine({ own: own.source, other: other.source, pair: place.pair }, place);
    if (typeof likeness === 'string') reason ||= likeness;
    else if (!found.some((known) => isSamePlace(known, likeness, own.source.info.frames))) found.push(likeness);
  }
  return found.length > 0 ? found : reason;
}

async function refine(sides: PairSides, { pair, map, margin }: RoughPlace): Promise<Likeness | string> {
  const first = await measure(sides, map, 8192, margin);
  const fitted = fitMap(first.points, map.slope, MAX_DRIFT, 24);
  if (!fitted || !isShared(fitted, first)) return lost(fitted, first);
  const second = await measure(sides, fitted, sides.own.info.frames > 100_000 ? 32_000 : 8000, 64);
  const final = fitMap(second.points, fitted.slope, MAX_DRIFT, 2);
  if (!final || !isShared(final, second)) return lost(final, second);
  return { pair, map: final, found: final.used, tried: second.tried, significance: second.significance };
}

/** Rough places some steps apart may lead to one and the same. */
function isSamePlace(a: Likeness, b: Likeness, frames: number): boolean {
  return Math.abs(mapFrame(a.map, frames / 2) - mapFrame(b.map, frames / 2)) < 8;
}

/** Most places that stand out at all must lie on the line; a tone held through a window says nothing either way. */
function isShared(map: FittedMap, measured: Measured): boolean {
  return map.used * 2 > measured.points.length && map.used >= Math.min(3, measured.tried);
}

function lost(map: FittedMap | null, { points, tried }: Measured): string {
  return (
    `a likeness was found, but only ${map?.used ?? 0} of the ${points.length} places that stand out (of ${tried}) agree ` +
    'on one straight line of time: perhaps slips, a wandering speed, or mere resemblance'
  );
}

interface RoughPlace {
  readonly pair: ChannelPair;
  readonly map: TimeMap;
  readonly margin: number;
}

/** A window of the own feature and one place where it may lie in the other; positions in steps of the features. */
interface RoughPoint {
  readonly window: number;
  readonly own: number;
  readonly other: number;
  readonly significance: number;
}

interface Vote {
  readonly pair: ChannelPair;
  readonly points: readonly RoughPoint[];
  /** significances added up, one per window */
  readonly sum: number;
}

async function roughPlaces(
  own: Side,
  other: Side,
  allowed: readonly ChannelPair[],
  cache: FeatureCache,
): Promise<RoughPlace[] | string> {
  const isShort = Math.max(own.source.info.frames, other.source.info.frames) <= SHORT_FRAMES;
  const kind = isShort ? 'reduced' : 'envelope';
  const [a, b] = await Promise.all([cache.of(own.index, own.source, kind), cache.of(other.index, other.source, kind)]);
  const width = Math.min(isShort ? 4096 : 1500, a.channels[0].length);
  let votes: Vote[] = [];
  let strongest = 0;
  for (const pair of allowed.slice(0, MAX_PAIRS)) {
    const points = roughPoints(a.channels[pair[0]], b.channels[pair[1]], width);
    strongest = Math.max(strongest, ...points.map((p) => p.significance));
    const next = votesOf(points.filter((p) => p.significance >= MIN_SIGNIFICANCE)).map((v) => ({ ...v, pair }));
    if ((next[0]?.sum ?? 0) > (votes[0]?.sum ?? 0)) votes = next;
  }
  const slope = rateHz(other.source.info.rate) / rateHz(own.source.info.rate);
  const perStep = a.stepSeconds * rateHz(other.source.info.rate);
  const places = votes
    .filter((vote) => vote.sum >= LONE_SIGNIFICANCE && vote.sum >= votes[0].sum * RIVAL_SHARE)
    .map(({ pair, points }) => {
      const seen = points.map((p) => ({ own: (p.own * perStep) / slope, other: p.other * perStep }));
      const map = fitMap(seen, slope, MAX_DRIFT, Math.max(3 * perStep, 200)) ?? { slope, offset: seen[0].other };
      return { pair, map, margin: isShort ? SHORT_MARGIN : LONG_MARGIN };
    });
  if (places.length > 0) return places.slice(0, MAX_PLACES);
  return (
    `no place stands out in correlation: the best is ${strongest.toFixed(1)} times the spread of all places, ` +
    `${MIN_SIGNIFICANCE} is asked for in at least two windows`
  );
}

/** Windows at even spacing, each with the few places where it fits best. */
function roughPoints(own: Float64Array, other: Float64Array, width: number): RoughPoint[] {
  const points: RoughPoint[] = [];
  const count = Math.min(ROUGH_WINDOWS, Math.max(1, Math.floor((2 * own.length) / width) - 1));
  for (let n = 0; n < count; n++) {
    const at = count === 1 ? 0 : Math.floor(((own.length - width) * n) / (count - 1));
    for (const found of locate(other, own.slice(at, at + width))) {
      points.push({ window: n, own: at, other: found.at, significance: found.significance });
    }
  }
  return points;
}

/** Points that lie on one offset, as far as drift allows; the heaviest collections first, none near another. */
function votesOf(points: readonly RoughPoint[]): Omit<Vote, 'pair'>[] {
  const isNear = (p: RoughPoint, q: RoughPoint) =>
    Math.abs(p.other - p.own - (q.other - q.own)) <= NEAR_STEPS + MAX_DRIFT * Math.abs(p.own - q.own);
  const votes = points.map((centre) => {
    const best = new Map<number, RoughPoint>();
    for (const p of points) {
      if (isNear(p, centre) && p.significance > (best.get(p.window)?.significance ?? 0)) best.set(p.window, p);
    }
    const chosen = [...best.values()];
    return { centre, points: chosen, sum: chosen.reduce((sum, p) => sum + p.significance, 0) };
  });
  votes.sort((a, b) => b.sum - a.sum);
  const kept: typeof votes = [];
  for (const vote of votes) if (!kept.some((k) => isNear(k.centre, vote.centre))) kept.push(vote);
  return kept;
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
  const count = Math.max(1, Math.min(places, Math.floor((4 * (to - from)) / width) + 1));
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
  const spectrum = whiten(crossSpectrum(x, fade(y), plan), 0.1);
  const correlation = correlationOf(spectrum, 0, 2 * margin, plan);
  const whole = peakOf(correlation);
  const significance = peakSignificance(correlation, whole, 8);
  if (significance < MIN_NEAR_SIGNIFICANCE || whole.lag < 2 || whole.lag > 2 * margin - 2) return null;
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

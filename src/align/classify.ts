// What kind of copy is it, once its place is known? Scaled in whole numbers, resampled, or through an analogue path.
// Never says bit-equal: that is only said where equal samples were seen.
import { rateHz, type StopSignal, throwIfStopped } from '../base/index.ts';
import { median } from '../signal/index.ts';
import { fitGain, type GainFit, ROUNDING_STEPS } from './gain.ts';
import { type Likeness, type PairSides, planeOf, spreadPlaces } from './likeness.ts';
import type { Relation } from './placement.ts';
import { fitFilter } from './predict.ts';
import { type FittedMap, mapFrame } from './time-map.ts';
import { warpBy } from './warp.ts';

export interface Judgement {
  readonly relation: Relation;
  readonly map: FittedMap;
  readonly gain: number;
  readonly uncertaintyFrames: number;
  readonly reason: string;
  /** what no filter explains, in steps of the coarser word; 0 for scaled */
  readonly rest: number;
  readonly comparedFrames: number;
  readonly differingFrames: number;
}

const WIDTH = 8192;
const PLACES = 12;
/** Long enough for the steep edge of a resampler. */
const TAPS = 256;
/** Share of the samples that must be the rounded product, where the recording is not damaged. */
const SCALED_SHARE = 0.999;
/**
 * One rounding leaves 0.29 steps, a rounding with triangular dither 0.50, two of these 0.71. Noise of one step either way
 * leaves 0.82 and more. Own reckoning, checked on simulated copies.
 */
const ROUNDING_RMS = 0.78;
/** A dithered shortening (0.50, with the source's own rounding 0.58) keeps a gain of exactly 1. */
const DITHER_RMS = 0.62;
/** A filter must leave this much less than a gain alone to be called one. */
const FILTER_GAIN = 1.3;
/** Above this the rest is as large as half of the signal: similar, but not this recording. */
const MAX_REST = 0.5;
/** Least uncertainty stated for a measured place. */
const LEAST_FRAMES = 0.02;

export async function classify(sides: PairSides, likeness: Likeness, stop?: StopSignal): Promise<Judgement> {
  const whole = wholeFrames(likeness.map, sides);
  if (whole !== null) {
    const scaled = await asScaled(sides, likeness, whole);
    if (scaled) return scaled;
  }
  throwIfStopped(stop);
  return asCopy(sides, likeness, whole);
}

/** The offset when both clocks are one and it is a whole number, within three standard deviations of the measurement. */
function wholeFrames(map: FittedMap, sides: PairSides): number | null {
  const span = sides.own.info.frames;
  const middleOffset = mapFrame(map, span / 2) - span / 2;
  const drift = Math.abs(map.slope - 1) * span;
  const room = Math.max(0.05, 3 * map.error);
  const isWhole =
    Math.abs(middleOffset - Math.round(middleOffset)) <= Math.min(0.2, room) && drift <= Math.min(0.4, 2 * room);
  return isWhole ? Math.round(middleOffset) : null;
}

async function asScaled(sides: PairSides, likeness: Likeness, offset: number): Promise<Judgement | null> {
  const { own, other, pair } = sides;
  const map: FittedMap = { ...likeness.map, slope: 1, offset };
  const coarse = Math.min(own.info.bits, other.info.bits);
  const toSteps = (bits: number) => 2 ** (coarse - bits);
  const windows: [number, number][][] = [];
  for (const at of spreadPlaces(sides, map, WIDTH, PLACES)) {
    const y = await planeOf(own, pair[0], at, WIDTH);
    const x = await planeOf(other, pair[1], at + offset, WIDTH);
    windows.push(Array.from(x, (v, n) => [v * toSteps(other.info.bits), y[n] * toSteps(own.info.bits)]));
  }
  const lively = windows.filter((w) => w.some(([x]) => x !== 0));
  if (lively.length === 0) return null;
  const fit = fitGain(lively.flat(), ROUNDING_STEPS);
  const within = ([x, y]: readonly [number, number]) => Math.abs(y - fit.gain * x - fit.offset) <= ROUNDING_STEPS;
  const counts = lively.map((w) => w.filter(within).length);
  const sound = counts.filter((c) => c * 2 > WIDTH);
  const share = sound.reduce((sum, c) => sum + c, 0) / (sound.length * WIDTH);
  const all = lively.length * WIDTH;
  const fitting = counts.reduce((sum, c) => sum + c, 0);
  const isRounded = sound.length * 2 >= lively.length && soundShare(lively, within, share) >= SCALED_SHARE;
  const isShortened = own.info.bits !== other.info.bits || isDithered(fit);
  if (!isRounded && !(isShortened && isDithered(fit))) return null;
  return {
    relation: 'scaled',
    map,
    gain: fit.gain,
    uncertaintyFrames: 0,
    rest: 0,
    reason: scaledReason(fit, isRounded, share, likeness),
    comparedFrames: all,
    differingFrames: all - fitting,
  };
}

/** Share within rounding, damaged stretches (32 samples of which most lie far off) left out. */
function soundShare(
  windows: readonly (readonly (readonly [number, number])[])[],
  within: (pair: readonly [number, number]) => boolean,
  share: number,
): number {
  if (share >= SCALED_SHARE) return share;
  let good = 0;
  let all = 0;
  for (const window of windows) {
    const flags = window.map(within);
    for (let at = 0; at < flags.length; at += 32) {
      const part = flags.slice(Math.max(0, at - 32), at + 64);
      const fitting = part.filter((f) => f).length;
      // a stretch with more than a few strangers is damage; its neighbours hold the burst's edges
      if (part.length - fitting > 6) continue;
      const inner = flags.slice(at, at + 32);
      good += inner.filter((f) => f).length;
      all += inner.length;
    }
  }
  const total = windows.reduce((sum, w) => sum + w.length, 0);
  return all * 4 < total ? 0 : good / all;
}

function isDithered(fit: GainFit): boolean {
  return Math.abs(fit.gain - 1) < 2e-5 && fit.rms <= DITHER_RMS;
}

function scaledReason(fit: GainFit, isRounded: boolean, share: number, likeness: Likeness): string {
  const constant = Math.abs(fit.offset) > 0.01 ? ` and a constant of ${fit.offset.toFixed(2)} steps` : '';
  const found = `${likeness.found} of ${likeness.tried} places agree on one whole offset without drift`;
  if (Math.abs(fit.gain - 1) < 2e-5) {
    const how = isRounded ? 'cut or rounded' : 'with dither';
    return `the same recording with its words shortened (${how})${constant}: ${found}; the samples are not equal`;
  }
  const inverted = fit.gain < 0 ? ', inverted' : '';
  return (
    `the same recording times ${fit.gain.toFixed(6)}${inverted}${constant}, rounded once: ${found}, ` +
    `${(100 * share).toFixed(2)} % of the samples fit to the rounding`
  );
}

async function asCopy(sides: PairSides, likeness: Likeness, whole: number | null): Promise<Judgement> {
  const { map } = likeness;
  const { rest, plain, level, gain } = await unexplained(sides, likeness);
  const share = level > 0 ? rest / level : 1;
  const uncertaintyFrames = Math.max(LEAST_FRAMES, 2 * map.error, map.aside > 0 ? LEAST_FRAMES * 2 : 0);
  // on one clock a plain copy needs no filter; where one filter tap does as well as many, it is noise that was added
  const isFiltered = whole === null || plain > FILTER_GAIN * rest;
  const isCopy = rest <= ROUNDING_RMS && isFiltered;
  const relation: Relation = share > MAX_REST ? 'unrelated' : isCopy ? 'resampled' : 'via-analogue';
  return {
    relation,
    map,
    gain,
    uncertaintyFrames,
    rest,
    reason: copyReason(relation, sides, likeness, rest, share),
    comparedFrames: 0,
    differingFrames: 0,
  };
}

interface Rest {
  readonly rest: number;
  /** the same after a gain alone */
  readonly plain: number;
  readonly level: number;
  readonly gain: number;
}

/** Rest after the best short filter, in steps of the coarser word, and the level of the capture; medians over the places. */
async function unexplained(sides: PairSides, { map }: Likeness): Promise<Rest> {
  const { own, other, pair } = sides;
  const step = Math.min(own.info.bits, other.info.bits);
  const frames = WIDTH + TAPS - 1;
  // on one clock the same whole shift serves everywhere, and the fraction of a frame is left to the filter
  const isStill = Math.abs(map.slope - 1) * own.info.frames < 0.05;
  const warp = isStill ? null : warpBy(map.slope);
  const middle = own.info.frames / 2;
  const shift = Math.round(mapFrame(map, middle) - middle);
  const windows = [];
  for (const at of spreadPlaces(sides, map, WIDTH, PLACES)) {
    const y = await planeOf(own, pair[0], at, WIDTH);
    const from = isStill ? at - TAPS / 2 + shift : mapFrame(map, at - TAPS / 2);
    const start = Math.floor(from) - 128;
    const plane = await planeOf(other, pair[1], start, Math.ceil((WIDTH + TAPS) * map.slope) + 256);
    const x = warp ? warp(plane, from - start, frames) : plane.slice(128, 128 + frames);
    windows.push({
      x: x.map((v) => v * 2 ** (step - other.info.bits)),
      y: y.map((v) => v * 2 ** (step - own.info.bits)),
    });
  }
  const lively = windows.filter(({ x, y }) => x.some((v) => v !== 0) && y.some((v) => v !== 0));
  if (lively.length === 0) return { rest: 0, plain: 0, level: 0, gain: 0 };
  // a filter for each place: what is left of the error of the time map does not count as noise
  const fits = lively.map((window) => fitFilter([window], TAPS));
  const centre = lively.map(({ x, y }) => fitFilter([{ x: x.slice(TAPS / 2, TAPS / 2 + WIDTH), y }], 1));
  const rests = fits.map((fit) => fit.residuals[0] * Math.sqrt(WIDTH / (WIDTH - TAPS - 1)));
  const levels = lively.map(({ y }) => spreadOf(y));
  const gains = lively.map(({ x, y }, n) => {
    const told = Math.sqrt(Math.max(0, spreadOf(y) ** 2 - rests[n] ** 2));
    return (Math.sign(centre[n].taps[0]) * told) / Math.max(1e-9, spreadOf(x.subarray(TAPS / 2, TAPS / 2 + WIDTH)));
  });
  return {
    rest: median(rests),
    plain: median(centre.map((fit) => fit.residuals[0])),
    level: median(levels),
    gain: median(gains),
  };
}

function spreadOf(values: Float64Array): number {
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length);
}

function copyReason(relation: Relation, sides: PairSides, likeness: Likeness, rest: number, share: number): string {
  const { map, found, tried, significance } = likeness;
  const nominal = rateHz(sides.other.info.rate) / rateHz(sides.own.info.rate);
  const driftPpm = (map.slope / nominal - 1) * 1e6;
  const errorPpm = Number.isFinite(map.slopeError) ? ` +- ${(2e6 * map.slopeError).toFixed(3)}` : '';
  const place =
    `${found} of ${tried} places agree on one line of time (peaks ${significance.toFixed(0)} times the spread of other places), ` +
    `drift ${driftPpm.toFixed(3)}${errorPpm} ppm against the stated rates`;
  const left = `after the best filter of ${TAPS} taps ${rest.toFixed(2)} steps of the coarser word are left (${(100 * share).toFixed(2)} % of the level)`;
  if (relation === 'unrelated') return `${place}, but ${left}: similar material, not the same recording`;
  if (relation === 'resampled') return `a resampled copy, not bit-equal: ${place}; ${left}, no more than rounding`;
  return `the same recording by way of an analogue or otherwise altering path, not bit-equal: ${place}; ${left}`;
}

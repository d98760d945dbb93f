// Where a device samples, heard through its analogue output: quantising makes harmonics of the tone beyond half its rate, and they fold back to
// places that only one rate explains; leaky filters leave images of high tones at the rate's distance. Rates are compared with many rates
// nobody uses, which tell what chance gives. Needs a converter that is not drowned in noise: else there are no lines, and nothing is said.
import { type FrameSource, type Rate, rateHz } from '../../base/index.ts';
import { fftPlan, fftSize } from '../../signal/index.ts';
import { readStretch } from '../analyse/stretch.ts';
import type { Placement } from '../locate/placement.ts';
import { LADDER_HZ, type Section } from '../programme/plan.ts';
import { fitTones } from '../spectrum/tone-fit.ts';

export interface RateScore {
  readonly rate: Rate;
  /** natural logarithm of the odds for lines at this rate's places against lines by chance, the clock's error fitted; 0 or more */
  readonly score: number;
}

export interface RateLines {
  readonly scores: readonly RateScore[];
  /** the best score among many rates nobody uses; they may share lines with the true one, so it is a scale and no bound */
  readonly chance: number;
}

/** One spectrum: logarithm of each bin against the median of its surroundings, averaged over stretches with the same lines. */
interface LineMap {
  readonly hz: number;
  readonly binHz: number;
  readonly excess: Float64Array;
  /** a bin above this is a line; this share of the places is, by chance */
  readonly least: number;
  readonly share: number;
}

const MARGIN = 0.06;
/** Steps that are loud enough to reach several steps of a word and do not clip. */
const LADDER_FROM_DB = -60;
/** A line's folded harmonics up to this order; higher ones drown. */
const MOST_ORDER = 80;
const LEAST_TONE_HZ = 6000;
/** Clocks err by this much at most; tried in steps of a fraction of a bin. */
const CLOCK_PPM: readonly number[] = Array.from({ length: 13 }, (_, k) => (k - 6) * 20);
const MOST_EXCESS = 5;

export async function rateScores(
  source: FrameSource,
  place: Placement,
  channel: number,
  clippingDb: number,
  rates: readonly Rate[],
): Promise<RateLines> {
  const folded: LineMap[] = [];
  const images: LineMap[] = [];
  for (const section of place.plan.sections) {
    const tone = section.sound.kind === 'tones' ? section.sound.tones[0] : undefined;
    if (!tone) continue;
    const isStep = section.group === 'ladder' && tone.levelDb >= LADDER_FROM_DB && tone.levelDb < clippingDb - 0.5;
    if (isStep) folded.push(await lineMap(source, place, section, channel, tone.hz));
    else if (section.group === 'tones' && tone.hz >= LEAST_TONE_HZ) {
      images.push(await lineMap(source, place, section, channel, tone.hz));
    }
  }
  if (folded.length === 0) return { scores: [], chance: 0 };
  const ladder = average(folded);
  const top = place.framesPerSecond / 2;
  const score = (hz: number) =>
    best(hz, (f) => {
      const fold = hits([{ map: ladder, lines: foldedLines(f, LADDER_HZ, top) }]);
      return fold + hits(images.map((map) => ({ map, lines: imageLines(f, map.hz, top) })));
    });
  return {
    scores: rates.map((rate) => ({ rate, score: score(rateHz(rate)) })),
    chance: strangeRates(rates).reduce((most, hz) => Math.max(most, score(hz)), 0),
  };
}

async function lineMap(
  source: FrameSource,
  place: Placement,
  section: Section,
  channel: number,
  hz: number,
): Promise<LineMap> {
  const { planes, perSecond } = await readStretch(source, place, section, MARGIN);
  const turns = Array.from({ length: 9 }, (_, k) => ((k + 1) * hz) / perSecond).filter((turn) => turn < 0.49);
  const { residual } = fitTones(planes[channel], turns);
  const size = 2 * fftSize(residual.length);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  for (let n = 0; n < residual.length; n++) {
    re[n] = residual[n] * (0.5 - 0.5 * Math.cos((2 * Math.PI * n) / residual.length));
  }
  fftPlan(size).forward(re, im);
  const power = Float64Array.from({ length: size / 2 }, (_, k) => re[k] ** 2 + im[k] ** 2);
  const binHz = perSecond / size;
  const level = floorOf(power, Math.round(60 / binHz));
  // the tone and its harmonics are known; what is left of them must not count
  const blind = Math.ceil(5 / binHz);
  const excess = power.map((p, k) => {
    const nearest = Math.round((k * binHz) / hz) * hz;
    if (Math.abs(k - nearest / binHz) < blind || level[k] === 0) return 0;
    return Math.max(-2, Math.min(MOST_EXCESS, Math.log((p + 1e-30) / (level[k] + 1e-30))));
  });
  return { hz, binHz, excess, ...threshold(excess) };
}

/** Median of stretches of `width` bins, each as the level of all of its bins. */
function floorOf(power: Float64Array, width: number): Float64Array {
  const out = new Float64Array(power.length);
  for (let from = 0; from < power.length; from += width) {
    const part = power.slice(from, from + width).sort();
    out.fill(part[part.length >> 1], from, from + width);
  }
  return out;
}

/** Maps of stretches of one length; differing sizes (there are none among steps) would not fit and are left out. */
function average(maps: readonly LineMap[]): LineMap {
  const excess = new Float64Array(maps[0].excess.length);
  const same = maps.filter((map) => map.excess.length === excess.length);
  for (const map of same) for (let k = 0; k < excess.length; k++) excess[k] += map.excess[k] / same.length;
  return { ...maps[0], excess, ...threshold(excess) };
}

/** |k f - m F| for harmonics beyond half the rate. */
function foldedLines(rate: number, hz: number, top: number): number[] {
  const out: number[] = [];
  for (let k = Math.ceil(rate / 2 / hz); k <= MOST_ORDER; k++) {
    const folded = Math.abs(k * hz - Math.round((k * hz) / rate) * rate);
    if (folded > 60 && folded < Math.min(top, rate / 2) - 60) out.push(folded);
  }
  return out;
}

/** Images of a tone behind the device, or the tone folded on the way in: both lie at the rate's distance. */
function imageLines(rate: number, hz: number, top: number): number[] {
  return [Math.abs(rate - hz), rate + hz, Math.abs(2 * rate - hz), Math.abs(rate - 2 * hz)].filter(
    (line) => line > 60 && line < top - 60,
  );
}

/** The level that few bins reach, and how often one of three neighbours does. */
function threshold(excess: Float64Array): { least: number; share: number } {
  const used = excess.filter((x) => x !== 0).sort();
  const least = Math.max(0.05, used[Math.floor(0.99 * used.length)] ?? MOST_EXCESS);
  let [over, all] = [0, 0];
  for (let k = 1; k + 1 < excess.length; k++) {
    if (excess[k] === 0) continue;
    all++;
    if (peakAt(excess, k) >= least) over++;
  }
  return { least, share: Math.max(0.005, over / Math.max(1, all)) };
}

function peakAt(excess: Float64Array, k: number): number {
  return Math.max(excess[k - 1] ?? 0, excess[k] ?? 0, excess[k + 1] ?? 0);
}

/** Odds (natural logarithm) of so many places being lines, at the share that fits best, against the share of chance. */
function hits(sets: readonly { readonly map: LineMap; readonly lines: readonly number[] }[]): number {
  let [found, places, chance] = [0, 0, 0];
  for (const { map, lines } of sets) {
    for (const hz of lines) {
      const k = Math.round(hz / map.binHz);
      if (map.excess[k] === 0 || k >= map.excess.length) continue;
      places++;
      chance += map.share;
      if (peakAt(map.excess, k) >= map.least) found++;
    }
  }
  if (places === 0) return 0;
  const p0 = chance / places;
  const p1 = found / places;
  if (p1 <= p0) return 0;
  const misses = p1 < 1 ? (places - found) * Math.log((1 - p1) / (1 - p0)) : 0;
  return found * Math.log(p1 / p0) + misses;
}

function best(rate: number, score: (hz: number) => number): number {
  return CLOCK_PPM.reduce((most, ppm) => {
    return Math.max(most, score(rate * (1 + ppm / 1e6)));
  }, 0);
}

/** Rates from 28 to 50 kHz that lie away from every rate in use and its neighbourhood. */
function strangeRates(rates: readonly Rate[]): number[] {
  const out: number[] = [];
  for (let hz = 28_037; hz < 50_000; hz += 313) {
    if (rates.every((rate) => Math.abs(hz / rateHz(rate) - 1) > 400e-6)) out.push(hz);
  }
  return out;
}

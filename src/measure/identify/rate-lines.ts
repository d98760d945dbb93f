// Where a device samples, heard through its analogue output: quantising makes harmonics of a tone far beyond half its rate, and they fold back to
// places that only one rate explains; leaky filters leave images of high tones at the rate's distance. Rates are compared with many rates
// nobody uses, which tell what chance gives. Needs a converter that is not drowned in noise: else there are no lines, and nothing is said.
import { type Rate, rateHz } from '../../base/index.ts';
import { stepEnvelope } from './sine-steps.ts';
import type { ToneSpectrum } from './tone-spectrum.ts';

export interface RateScore {
  readonly rate: Rate;
  /** natural logarithm of the odds for lines at this rate's places against noise, the clock's error fitted; 0 or more */
  readonly score: number;
  /** the same for each step of the ladder by itself */
  readonly steps: readonly StepScore[];
}

export interface StepScore {
  readonly sentDb: number;
  readonly score: number;
}

export interface RateLines {
  readonly scores: readonly RateScore[];
  /** the best score among many rates nobody uses; they may share lines with the true one, so it is a scale and no bound */
  readonly chance: number;
}

/** Lines to be expected under one tone: what each order adds to the score at a line's power, and what it costs. */
interface Pattern {
  readonly weights: Float64Array;
  readonly costs: Float64Array;
}

interface Tone {
  readonly spectrum: ToneSpectrum;
  readonly patterns: readonly Pattern[];
}

/** Folded harmonics up to this order; higher ones drown, and ask for a better clock. */
const MOST_ORDER = 300;
/** Clocks err by this much at most; a step moves the highest order by about as much as a line is wide. */
const CLOCK_PPM: readonly number[] = Array.from({ length: 49 }, (_, k) => (k - 24) * 5);
/** Peak of the tone in steps of the device, dB, and noise ahead of its converter in steps: one pattern for each pair. */
const PEAKS_DB: readonly number[] = Array.from({ length: 19 }, (_, k) => 6 + 3 * k);
const SIGMAS: readonly number[] = [0, 0.25];
/** Trying so many patterns finds one that fits chance better. */
const TRIES_NATS = Math.log(PEAKS_DB.length * SIGMAS.length);
/** A line counts as at most so much above the noise, expected or met: one that has another cause must not decide. */
const MOST_EXPECTED = 100;
const MOST_MET = 12;
/** Lines weaker than this share of the noise tell nothing. */
const LEAST_EXPECTED = 0.02;
/** Power of images against the noise, one of these. */
const IMAGE_EXPECTED: readonly number[] = [1, 10, 100];
/** Harmonics that did not fold lie where they lie at every rate. */
const BLIND_HZ = 6;
const EDGE_HZ = 60;

/** `ladder`: tones of one frequency, none clipped; `high`: single tones whose images may show; `gain`: amplitude of full scale in the capture. */
export function rateScores(
  ladder: readonly ToneSpectrum[],
  high: readonly ToneSpectrum[],
  gain: number,
  topHz: number,
  rates: readonly Rate[],
): RateLines {
  const envelopes = PEAKS_DB.flatMap((peakDb) =>
    SIGMAS.map((sigma) => ({ peakDb, powers: stepEnvelope(10 ** (peakDb / 20), sigma, MOST_ORDER) })),
  );
  const tones = ladder.map((spectrum) => ({ spectrum, patterns: patternsOf(spectrum, gain, topHz, envelopes) }));
  const scoreOf = (hz: number) => {
    const steps = tones.map((tone) => ({ sentDb: tone.spectrum.sentDb, score: stepScore(tone, hz, topHz) }));
    return { steps, score: steps.reduce((sum, one) => sum + one.score, imageScore(high, hz)) };
  };
  return {
    scores: rates.map((rate) => ({
      rate,
      ...CLOCK_PPM.map((ppm) => scoreOf(rateHz(rate) * (1 + ppm / 1e6))).reduce((a, b) => (b.score > a.score ? b : a)),
    })),
    chance: strangeRates(rates).reduce((most, hz) => Math.max(most, scoreOf(hz).score), 0),
  };
}

function patternsOf(
  spectrum: ToneSpectrum,
  gain: number,
  topHz: number,
  envelopes: readonly { readonly peakDb: number; readonly powers: Float64Array }[],
): Pattern[] {
  // noise of the whole band: what an order folds to is not known yet
  const bins = Math.floor(topHz / spectrum.binHz);
  const noise = spectrum.noise.subarray(0, bins).reduce((sum, x) => sum + x, 0) / bins;
  if (!(noise > 0)) return [];
  return envelopes.flatMap(({ peakDb, powers }) => {
    const step = gain * 10 ** ((spectrum.sentDb - peakDb) / 20);
    const expected = powers.map((power) => Math.min(MOST_EXPECTED, (step * step * power * spectrum.ofLine) / noise));
    if (!expected.some((x) => x > LEAST_EXPECTED)) return [];
    return [{ weights: expected.map((x) => x / (1 + x)), costs: expected.map((x) => Math.log(1 + x)) }];
  });
}

/** The best pattern's odds, less what trying all of them gives; a line's power amid noise is spread as noise is, only wider. */
function stepScore({ spectrum, patterns }: Tone, rate: number, topHz: number): number {
  if (patterns.length === 0) return 0;
  const { orders, met, count } = foldedOrders(spectrum, rate, topHz);
  let best = 0;
  for (const { weights, costs } of patterns) {
    let sum = -TRIES_NATS;
    for (let n = 0; n < count; n++) sum += weights[orders[n]] * met[n] - costs[orders[n]];
    if (sum > best) best = sum;
  }
  return best;
}

/** Orders that fold at this rate, with the power at their places against the noise. */
function foldedOrders({ hz, binHz, power, noise }: ToneSpectrum, rate: number, topHz: number) {
  const orders = new Int32Array(MOST_ORDER);
  const met = new Float64Array(MOST_ORDER);
  const top = Math.min(topHz, rate / 2) - EDGE_HZ;
  let count = 0;
  for (let order = Math.ceil(rate / 2 / hz); order <= MOST_ORDER; order++) {
    const folded = Math.abs(order * hz - Math.round((order * hz) / rate) * rate);
    if (folded < EDGE_HZ || folded > top || Math.abs(folded - Math.round(folded / hz) * hz) < BLIND_HZ) continue;
    const bin = Math.round(folded / binHz);
    if (!(noise[bin] > 0)) continue;
    orders[count] = order;
    met[count++] = Math.min(MOST_MET, power[bin] / noise[bin]);
  }
  return { orders, met, count };
}

/** Images of high tones behind the device, or the tones folded on the way in: both lie at the rate's distance, of any size. */
function imageScore(tones: readonly ToneSpectrum[], rate: number): number {
  const met = tones.flatMap((tone) => imagePlaces(tone, rate));
  return IMAGE_EXPECTED.reduce((best, expected) => {
    const costs = met.length * Math.log(1 + expected) + Math.log(IMAGE_EXPECTED.length);
    const gains = met.reduce((sum, x) => sum + (x * expected) / (1 + expected), 0);
    return Math.max(best, gains - costs);
  }, 0);
}

function imagePlaces({ hz, binHz, power, noise }: ToneSpectrum, rate: number): number[] {
  return [Math.abs(rate - hz), rate + hz, Math.abs(2 * rate - hz), Math.abs(rate - 2 * hz)].flatMap((line) => {
    const bin = Math.round(line / binHz);
    const isOwn = Math.abs(line - Math.round(line / hz) * hz) < BLIND_HZ;
    if (line < EDGE_HZ || isOwn || line / binHz > power.length - EDGE_HZ || !(noise[bin] > 0)) return [];
    return [Math.min(MOST_MET, power[bin] / noise[bin])];
  });
}

/** Rates from 28 to 50 kHz that lie away from every rate in use and its neighbourhood. */
function strangeRates(rates: readonly Rate[]): number[] {
  const out: number[] = [];
  for (let hz = 28_037; hz < 50_000; hz += 313) {
    if (rates.every((rate) => Math.abs(hz / rateHz(rate) - 1) > 400e-6)) out.push(hz);
  }
  return out;
}

// The stories a single channel may tell, simplest first: equal; one number for every sample; bits at fault; then what only statistics can tell. The first
// that explains all the samples is told; what it leaves is looked at again. Not for what concerns both channels (judge-chain.ts).
import { rateHz } from '../../../base/index.ts';
import { bitStates } from './bit-map.ts';
import { type DifferenceSpectrum, differenceSpectrum } from './difference-spectrum.ts';
import { type ExactLaw, exactLaw } from './exact-law.ts';
import type { ChainChange } from './finding.ts';
import { linearFit } from './linear-fit.ts';
import { eachPair, type PairSource, regionOf } from './pairs.ts';
import { type Response, responseOf } from './response.ts';
import { restKind } from './rest.ts';
import { type Estimate, type Survey, sentFrame, surveyOf } from './survey.ts';

export interface ChannelJudgement {
  readonly survey: Survey;
  readonly changes: readonly ChainChange[];
  /** what no story explains, in steps of the capture; 0 where every sample is explained */
  readonly restRmsSteps: number;
  readonly silenceNoise: boolean;
  readonly response?: Response;
}

/** Departures of the gain that are worth a word: a hundredth, and not by chance. */
const LEVEL_DEPARTURE = 0.01;
const SURE = 6;
/** Leaks below this of the signal are not told. */
const LEAST_LEAK = 1e-4;
/** Stronger ones make one channel of two. */
const MIX_DB = -6;
/** A filter must leave so much less than a gain alone. */
const FILTER_GAIN = 0.9;
/** Beyond this below the signal a fit of a filter leaves something of its own. */
const FIT_FLOOR_DB = -40;
const LOUD_OCTAVES = 5;
/** Errors do not choose loud samples: where so many of them miss, something follows the level. */
const LIMITED_SHARE = 0.3;
/** Of the lower half band: what rate converters leave untouched. */
const CONVERTED_BAND = 0.88;
/** Departures of the response that make a rate conversion a filter of its own, dB. */
const CONVERTED_RIPPLE_DB = 0.5;
/** A limiter that recovers slowly bends the gain of what follows. */
const LIMITER_GAIN_DB = 0.3;

export async function judgeChannel(from: PairSource): Promise<ChannelJudgement> {
  const survey = await surveyOf(from);
  if (survey.equal === survey.frames) return explained(survey, []);
  const isLocked = from.track.clock.kind === 'locked';
  const hasLeak = leakIs(survey);
  if (isLocked && !hasLeak) {
    const law = await exactLaw(from, survey);
    if (law && law.missedFrames === 0) return explained(survey, lawChanges(from, law));
    const states = await bitStates(from);
    if (states.some((state) => state !== 'same') && !states.includes('unrelated')) {
      return explained(survey, [{ kind: 'bits', states }]);
    }
    const isLimited = law && law.loudShare > LIMITED_SHARE;
    if (law && !isLimited && law.missedFrames < 0.2 * law.frames)
      return explained(survey, [...lawChanges(from, law), errorsOf(law)]);
  }
  return await statisticalStory(from, survey);
}

function explained(survey: Survey, changes: readonly ChainChange[]): ChannelJudgement {
  return { survey, changes, restRmsSteps: 0, silenceNoise: false };
}

interface Leak {
  readonly leak: Estimate;
  readonly gain: { readonly value: number };
}

function leakIs({ leak, gain }: Leak): boolean {
  return Math.abs(leak.value) > Math.max(SURE * leak.spread, LEAST_LEAK * Math.abs(gain.value));
}

function lawChanges(from: PairSource, law: ExactLaw): ChainChange[] {
  const { ratio, fraction, shortening, step, offset, isTurned, clipped } = law;
  const { bits } = from.capture.info;
  const full = 2 ** (bits - 1);
  const word = bits - Math.log2(step);
  const isUnity = ratio.low <= 1 && ratio.high >= 1;
  const changes: ChainChange[] = [];
  if (isTurned) changes.push({ kind: 'polarity' });
  if (!isUnity) {
    const { value, low, high } = ratio;
    const simple = fraction && fraction.den < 5000 ? { fraction } : {};
    changes.push({ kind: 'gain', basis: 'proof', ratio: value, low, high, db: decibels(value), ...simple });
  }
  if (word < from.signal.bits) changes.push({ kind: 'truncation', bits: word, of: from.signal.bits, how: shortening });
  if (offset !== 0) {
    changes.push({ kind: 'dc', basis: 'proof', steps: offset, uncertainty: 0, db: decibels(Math.abs(offset) / full) });
  }
  if (clipped > 0) {
    const [lowDb, highDb] = [-law.least, law.most].map((end) => decibels(Math.max(1, end) / full));
    changes.push({ kind: 'clip', lowDb, highDb, samples: clipped });
  }
  return changes;
}

function errorsOf(law: ExactLaw): ChainChange {
  return { kind: 'errors', spans: law.misses, frames: law.missedFrames, stillFrames: law.stillFrames };
}

async function statisticalStory(from: PairSource, survey: Survey): Promise<ChannelJudgement> {
  const { bits, rate } = from.capture.info;
  const hz = rateHz(rate);
  const full = 2 ** (bits - 1);
  const { step } = survey;
  const changes: ChainChange[] = [];
  const limiter = limiterOf(survey);
  const fit = await linearFit(from, survey.silence?.mean ?? survey.offset.value);
  const isFiltered = fit !== undefined && fit.restRms < FILTER_GAIN * Math.min(fit.plainRestRms, survey.restRms);
  // a filter smears the channels' fixed marks into a likeness of their own: the leak is then taken from what it leaves
  const leak = isFiltered ? { leak: fit.leak, gain: { value: 1 } } : survey;
  const plain = isFiltered ? undefined : await plainRests(from, survey);
  const rests = isFiltered ? fit.rests : (plain?.runs ?? []);
  const rms = isFiltered ? fit.restRms : (plain?.rms ?? survey.restRms);
  const most = isFiltered ? fit.restMost : (plain?.most ?? 0);
  const spectrum = differenceSpectrum(rests, hz, full);
  const isDrifting = from.track.clock.kind === 'drifting';
  const topHz = isDrifting ? (CONVERTED_BAND / 2) * Math.min(hz, rateHz(from.signal.rate)) : 0.497 * hz;
  const response = fit && isFiltered ? responseOf(fit, hz, topHz) : undefined;
  const isOwnFilter =
    response && (!isDrifting || response.rippleDb > CONVERTED_RIPPLE_DB || response.highEdgeHz !== undefined);
  changes.push(...gainChanges(from, survey, response, limiter !== undefined));
  if (leakIs(leak)) changes.push(leakChange(leak));
  if (limiter) changes.push(limiter);
  if (response && isOwnFilter) {
    const whole = isDrifting ? 0 : response.delayFrames;
    changes.push({ kind: 'filter', response, delayFrames: whole });
  }
  changes.push(...offsetChange(survey, step, full));
  const silenceRms = survey.silence?.rms;
  // a converter's band edge is where two filters differ: the level of what remains is that of most of the band
  const plainRms = isDrifting && spectrum ? rms * Math.sqrt(spectrum.middle) : rms;
  const slack = isDrifting ? 1 : 0;
  const kind = restKind({ step, rms: plainRms, most: most - slack * step, silenceRms, spectrum });
  const signalRms = fit?.capturedRms ?? survey.hissRms * Math.abs(survey.gain.value);
  const belowSignalDb = decibels(rms / signalRms);
  const isFitsOwn = (isFiltered || isDrifting) && belowSignalDb < FIT_FLOOR_DB;
  const spectral = spectrum ? { spectrum } : {};
  if (kind === 'triangular dither' || kind === 'rectangular dither' || kind === 'shaped dither') {
    const shape =
      kind === 'triangular dither' ? 'triangular' : kind === 'rectangular dither' ? 'rectangular' : 'shaped';
    changes.push({ kind: 'dither', shape, rmsSteps: rms / step });
    changes.push(...truncationBy(from, step));
  } else if (kind === 'noise') {
    changes.push(noiseChange(from, rms, full, spectrum));
  } else if (kind === 'follows the sound' && !isFitsOwn && !(limiter && belowSignalDb < -20)) {
    changes.push({ kind: 'other', restDb: decibels((rms * Math.SQRT2) / full), belowSignalDb, ...spectral });
  } else changes.push(...truncationBy(from, step));
  return {
    survey,
    changes,
    restRmsSteps: rms,
    silenceNoise: kind === 'noise',
    ...(response ? { response } : {}),
  };
}

function gainChanges(
  { track }: PairSource,
  { gain }: Survey,
  response: Response | undefined,
  isBent: boolean,
): ChainChange[] {
  const size = response ? 10 ** (response.gainDb / 20) : Math.abs(gain.value);
  // the pass band's level is what a filter leaves of it: known to a fifth of a decibel; near a limiter the gain bends
  const spread = 3 * gain.spread + (response ? 0.023 : isBent ? 10 ** (LIMITER_GAIN_DB / 20) - 1 : 1e-9);
  const changes: ChainChange[] = track.likeness < 0 ? [{ kind: 'polarity' }] : [];
  const [low, high] = [size - spread, size + spread];
  if (low > 1 || high < 1)
    changes.push({ kind: 'gain', basis: 'measured', ratio: size, low, high, db: decibels(size) });
  return changes;
}

function leakChange({ leak, gain }: Leak): ChainChange {
  const ratio = Math.abs(leak.value / gain.value);
  const db = decibels(ratio);
  return {
    kind: db > MIX_DB ? 'mix' : 'crosstalk',
    db,
    uncertainty: decibels(1 + (3 * leak.spread) / Math.abs(leak.value)),
    isTurned: leak.value * gain.value < 0,
  };
}

function offsetChange({ silence, offset, restRms }: Survey, step: number, full: number): ChainChange[] {
  const steps = silence ? silence.mean : offset.value;
  const uncertainty = 3 * (silence ? silence.rms / Math.sqrt(silence.frames) : Math.max(offset.spread, restRms / 100));
  if (Math.abs(steps) < Math.max(2 * uncertainty, 0.6 * step)) return [];
  return [{ kind: 'dc', basis: 'measured', steps, uncertainty, db: decibels(Math.abs(steps) / full) }];
}

function limiterOf({ levels, gain }: Survey): ChainChange | undefined {
  const quiet = levels.filter((_, k) => k >= LOUD_OCTAVES);
  const reference = quiet.length > 0 ? weighted(quiet) : gain.value;
  const off = levels
    .slice(0, LOUD_OCTAVES)
    .map(({ gain: one, levelDb }) => ({
      ratio: one.value / reference,
      spread: one.spread / Math.abs(reference),
      levelDb,
    }))
    .filter(({ ratio, spread }) => Math.abs(ratio - 1) > Math.max(LEVEL_DEPARTURE, SURE * spread));
  if (off.length === 0) return undefined;
  const strongest = off.reduce((a, b) => (Math.abs(b.ratio - 1) > Math.abs(a.ratio - 1) ? b : a));
  return {
    kind: 'limiter',
    way: strongest.ratio < 1 ? 'less when loud' : 'more when loud',
    fromDb: Math.min(...off.map(({ levelDb }) => levelDb)),
    mostDb: decibels(Math.abs(strongest.ratio)),
    levels,
  };
}

function weighted(levels: Survey['levels']): number {
  let sum = 0;
  let weight = 0;
  for (const { gain } of levels) {
    const w = 1 / (gain.spread ** 2 + 1e-18);
    sum += w * gain.value;
    weight += w;
  }
  return sum / weight;
}

function noiseChange(
  from: PairSource,
  rms: number,
  full: number,
  spectrum: DifferenceSpectrum | undefined,
): ChainChange {
  const sentStep = 2 ** (from.capture.info.bits - from.signal.bits);
  const equal = Math.log2((2 * full) / (rms * Math.sqrt(12)));
  return {
    kind: 'noise',
    rmsSteps: rms,
    db: decibels((rms * Math.SQRT2) / full),
    equalBits: equal,
    coveredBits: Math.max(0, Math.log2((rms * Math.sqrt(12)) / sentStep)),
    ...(spectrum ? { spectrum } : {}),
  };
}

/** A word shorter than the sent one, where statistics have already said how. */
function truncationBy(from: PairSource, step: number): ChainChange[] {
  const bits = from.capture.info.bits - Math.log2(step);
  return bits < from.signal.bits ? [{ kind: 'truncation', bits, of: from.signal.bits, how: 'rounded' }] : [];
}

/** What gain, leak and offset leave in the hiss, as runs long enough for spectra. */
async function plainRests(from: PairSource, { gain, leak, offset }: Survey) {
  const runs: Float64Array[] = [];
  let square = 0;
  let count = 0;
  let most = 0;
  await eachPair(from, (pair) => {
    let run: number[] = [];
    const close = () => {
      if (run.length >= 2048 && runs.length < 64) runs.push(Float64Array.from(run));
      run = [];
    };
    for (let n = 0; n < pair.captured.length; n++) {
      if (regionOf(from.signal, Math.round(sentFrame(pair, n))) !== 'hiss') {
        close();
        continue;
      }
      const rest = pair.captured[n] - gain.value * pair.expected[n] - leak.value * pair.other[n] - offset.value;
      run.push(rest);
      square += rest * rest;
      count++;
      most = Math.max(most, Math.abs(rest));
    }
    close();
  });
  return { runs, rms: count > 0 ? Math.sqrt(square / count) : 0, most };
}

function decibels(ratio: number): number {
  return 20 * Math.log10(ratio);
}

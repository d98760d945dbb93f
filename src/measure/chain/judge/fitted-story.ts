// What statistics can tell of a channel: gain and leak, or a filter where it leaves less; gain that follows the level; offset; and what the remainder is.
// Never proof. Not for laws that hold for every sample (exact-law.ts).
import { rateHz } from '../../../base/index.ts';
import { db } from '../../analyse/measured.ts';
import { type DifferenceSpectrum, differenceSpectrum } from './difference-spectrum.ts';
import type { ChainChange } from './finding.ts';
import { limiterOf } from './level-gain.ts';
import { type LinearFit, linearFit } from './linear-fit.ts';
import { eachPair, type PairSource, regionOf } from './pairs.ts';
import { type Response, responseOf } from './response.ts';
import { reachOf, restKind } from './rest.ts';
import { type Estimate, type Survey, sentFrame } from './survey.ts';

const SURE = 6;
/** Leaks below this of the signal are not told. */
const LEAST_LEAK = 1e-4;
/** Stronger ones make one channel of two. */
const MIX_DB = -6;
/** A filter must leave so much less than a gain alone. */
const FILTER_GAIN = 0.9;
/** Beyond this below the signal a fit of a filter leaves something of its own. */
const FIT_FLOOR_DB = -40;
/** A limiter that recovers slowly leaves its trace in what follows the bursts. */
const LIMITER_FLOOR_DB = -20;
/** Of the lower half band: what rate converters leave untouched. */
const CONVERTED_BAND = 0.88;
/** Departures of the response that make a rate conversion a filter of its own, dB. */
const CONVERTED_RIPPLE_DB = 0.5;
/** More than dither leaves, in steps. */
const NOISY_SILENCE = 0.75;
/** Share of a gain that is not told: the level of a pass band is known to a fifth of a decibel, near a limiter the gain bends. */
const FILTER_GAIN_SHARE = 0.023;
const LIMITER_GAIN_SHARE = 0.035;
const LEAST_GAIN_SHARE = 1e-9;

/** Steps by which the errors of gains, filters and converters widen the bounds of a dither. */
const PLAIN_SLACK = 0.1;
const FILTER_SLACK = 0.3;
const DRIFT_SLACK = 0.6;

interface Leak {
  readonly leak: Estimate;
  readonly gain: { readonly value: number };
}

function hasLeak({ leak, gain }: Leak): boolean {
  return Math.abs(leak.value) > Math.max(SURE * leak.spread, LEAST_LEAK * Math.abs(gain.value));
}

export async function fittedStory(
  from: PairSource,
  survey: Survey,
): Promise<{ readonly changes: readonly ChainChange[]; readonly restRmsSteps: number }> {
  const fit = await fitOf(from, survey);
  const limiter = limiterOf(survey, fit.response !== undefined);
  const changes = [
    ...gainChanges(from, survey, fit.response, limiter !== undefined),
    ...(hasLeak(fit.leak) ? [leakChange(fit.leak)] : []),
    ...(limiter ? [limiter] : []),
    ...filterChange(fit),
    ...offsetChange(from, survey),
    ...restChanges(from, survey, fit, limiter !== undefined),
  ];
  return { changes, restRmsSteps: fit.rms };
}

interface Fit {
  readonly isDrifting: boolean;
  /** undefined where a gain explains as much */
  readonly response: Response | undefined;
  readonly leak: Leak;
  readonly rms: number;
  readonly reach: number;
  readonly signalRms: number;
  readonly spectrum: DifferenceSpectrum | undefined;
}

async function fitOf(from: PairSource, survey: Survey): Promise<Fit> {
  const { bits, rate } = from.capture.info;
  const hz = rateHz(rate);
  const isDrifting = from.track.clock.kind === 'drifting';
  const topHz = isDrifting ? (CONVERTED_BAND / 2) * Math.min(hz, rateHz(from.signal.rate)) : 0.497 * hz;
  const linear = await linearFit(from, survey.silence?.mean ?? survey.offset.value);
  const filter = linear && isFilter(linear, survey) ? linear : undefined;
  const rests = filter ?? (await plainRests(from, survey));
  return {
    isDrifting,
    response: filter && responseOf(filter, hz, topHz),
    // a filter smears the channels' fixed marks into a likeness of their own: the leak is then taken from what it leaves
    leak: filter ? { leak: filter.leak, gain: { value: 1 } } : survey,
    rms: rests.restRms,
    reach: reachOf(rests.rests),
    signalRms: linear?.capturedRms ?? survey.hissRms * Math.abs(survey.gain.value),
    spectrum: differenceSpectrum(rests.rests, hz, 2 ** (bits - 1), topHz),
  };
}

function isFilter({ restRms, plainRestRms }: LinearFit, survey: Survey): boolean {
  return restRms < FILTER_GAIN * Math.min(plainRestRms, survey.restRms);
}

function gainChanges(
  { track }: PairSource,
  { gain }: Survey,
  response: Response | undefined,
  isBent: boolean,
): ChainChange[] {
  const size = response ? 10 ** (response.gainDb / 20) : Math.abs(gain.value);
  const share = response ? FILTER_GAIN_SHARE : isBent ? LIMITER_GAIN_SHARE : LEAST_GAIN_SHARE;
  const [low, high] = [size - 3 * gain.spread - share, size + 3 * gain.spread + share];
  const changes: ChainChange[] = track.likeness < 0 ? [{ kind: 'polarity' }] : [];
  if (low > 1 || high < 1) changes.push({ kind: 'gain', basis: 'measured', ratio: size, low, high, db: db(size) });
  return changes;
}

function leakChange({ leak, gain }: Leak): ChainChange {
  const level = db(Math.abs(leak.value / gain.value));
  return {
    kind: level > MIX_DB ? 'mix' : 'crosstalk',
    db: level,
    uncertainty: db(1 + (3 * leak.spread) / Math.abs(leak.value)),
    isTurned: leak.value * gain.value < 0,
  };
}

/** A rate converter's own band edge is no filter worth a word. */
function filterChange({ response, isDrifting }: Fit): ChainChange[] {
  if (!response) return [];
  const isOwn = !isDrifting || response.rippleDb > CONVERTED_RIPPLE_DB || response.highEdgeHz !== undefined;
  return isOwn ? [{ kind: 'filter', response, delayFrames: isDrifting ? 0 : response.delayFrames }] : [];
}

function offsetChange(from: PairSource, { silence, offset, restRms, step }: Survey): ChainChange[] {
  const steps = silence ? silence.mean : offset.value;
  const uncertainty = 3 * (silence ? silence.rms / Math.sqrt(silence.frames) : Math.max(offset.spread, restRms / 100));
  if (Math.abs(steps) < Math.max(2 * uncertainty, 0.6 * step)) return [];
  const level = db(Math.abs(steps) / 2 ** (from.capture.info.bits - 1));
  return [{ kind: 'dc', basis: 'measured', steps, uncertainty, db: level }];
}

function restChanges(from: PairSource, { silence, step }: Survey, fit: Fit, isBent: boolean): ChainChange[] {
  const { isDrifting, response, rms, reach, signalRms, spectrum } = fit;
  const belowSignalDb = db(rms / signalRms);
  const isFitsOwn = (response !== undefined || isDrifting) && belowSignalDb < FIT_FLOOR_DB;
  // where the fit's own error hides it, silence still shows what the chain adds
  const isNoisy = silence !== undefined && silence.rms > NOISY_SILENCE * step;
  const kind = restKind({
    step,
    // at the edge of a converter's band two filters differ: what remains is as much as in most of the band
    rms: isDrifting && spectrum ? rms * Math.sqrt(spectrum.middle) : rms,
    reach,
    slack: isDrifting ? DRIFT_SLACK : response ? FILTER_SLACK : PLAIN_SLACK,
    silence,
    spectrum,
  });
  if (kind.endsWith('dither')) {
    const shape =
      kind === 'triangular dither' ? 'triangular' : kind === 'rectangular dither' ? 'rectangular' : 'shaped';
    return [{ kind: 'dither', shape, rmsSteps: rms / step }, ...truncationBy(from, step)];
  }
  if (kind === 'noise' || (isFitsOwn && isNoisy)) {
    return [noiseChange(from, response && silence ? Math.min(rms, silence.rms) : rms, spectrum)];
  }
  const isExplained = isFitsOwn || (isBent && belowSignalDb < LIMITER_FLOOR_DB);
  const isLeft = kind === 'follows the sound' || (isDrifting && belowSignalDb > FIT_FLOOR_DB);
  return isLeft && !isExplained ? [otherChange(from, rms, belowSignalDb, spectrum)] : truncationBy(from, step);
}

function noiseChange(from: PairSource, rms: number, spectrum: DifferenceSpectrum | undefined): ChainChange {
  const { bits } = from.capture.info;
  // rounding to a step makes noise of step / sqrt(12)
  const asStep = rms * Math.sqrt(12);
  return {
    kind: 'noise',
    rmsSteps: rms,
    db: db((rms * Math.SQRT2) / 2 ** (bits - 1)),
    equalBits: bits - Math.log2(asStep),
    coveredBits: Math.max(0, Math.log2(asStep) - (bits - from.signal.bits)),
    ...(spectrum ? { spectrum } : {}),
  };
}

function otherChange(
  from: PairSource,
  rms: number,
  belowSignalDb: number,
  spectrum: DifferenceSpectrum | undefined,
): ChainChange {
  const restDb = db((rms * Math.SQRT2) / 2 ** (from.capture.info.bits - 1));
  return { kind: 'other', restDb, belowSignalDb, ...(spectrum ? { spectrum } : {}) };
}

/** A word shorter than the sent one, where statistics have already said how. */
function truncationBy(from: PairSource, step: number): ChainChange[] {
  const bits = from.capture.info.bits - Math.log2(step);
  return bits < from.signal.bits ? [{ kind: 'truncation', bits, of: from.signal.bits, how: 'rounded' }] : [];
}

const LEAST_RUN = 2048;
const MOST_RUNS = 64;

/** What gain, leak and offset leave in the hiss, as runs long enough for spectra. */
async function plainRests(from: PairSource, { gain, leak, offset }: Survey) {
  const isLeaking = hasLeak({ leak, gain });
  const rests: Float64Array[] = [];
  let square = 0;
  let count = 0;
  await eachPair(from, (pair) => {
    const { captured, expected } = pair;
    const other = isLeaking ? pair.other() : undefined;
    const own = new Float64Array(captured.length);
    let length = 0;
    for (let n = 0; n <= captured.length; n++) {
      const isHiss = n < captured.length && regionOf(from.signal, Math.round(sentFrame(pair, n))) === 'hiss';
      if (!isHiss) {
        if (length >= LEAST_RUN && rests.length < MOST_RUNS) rests.push(own.slice(0, length));
        length = 0;
        continue;
      }
      const rest = captured[n] - gain.value * expected[n] - leak.value * (other?.[n] ?? 0) - offset.value;
      own[length++] = rest;
      square += rest * rest;
      count++;
    }
  });
  return { rests, restRms: count > 0 ? Math.sqrt(square / count) : 0 };
}

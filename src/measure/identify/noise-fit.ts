// Which word length or law explains the noise that was measured under tones of every level: least squares in decibels, with the record
// level and the constant noise of the analogue path free. Not for values of samples (value-evidence.ts).
import type { ChannelMeasurement } from '../analyse/measure-capture.ts';
import { PROGRAMME_BITS } from '../programme/plan.ts';
import { finestStepDb, type WordClass, type WordModel, wordModels } from './hypotheses.ts';
import { type StepProfile, strongestStep } from './quiet-steps.ts';

export interface WordFit {
  readonly id: string;
  /** mean square misfit against what models and noise allow: about 1 for the right one */
  readonly misfit: number;
  /** sum of squares the odds are taken from, less what lines of the device's steps speak for it */
  readonly squares: number;
  /** sum of squares of the noise alone */
  readonly noiseSquares: number;
  readonly converter: WordModel['converter'];
  /** sent level at which the device's full scale would lie, against 0 dBFS of the programme: positive = recorded that much too hot */
  readonly recordDb: number;
  /** constant noise beside the quantising, mean square */
  readonly floor: number;
}

interface Point {
  readonly sentDb: number;
  readonly powerDb: number;
  readonly uncertaintyDb: number;
}

/** What models leave out: spectrum beyond the capture's band, level steps between the table's. */
const MODEL_DB = 0.5;
/** Noise in proportion to the level, from no law: stands beside the classes of words. */
export const LEVEL_NOISE = 'level-noise';
/** Steps of a size that no class of words has: stands beside them too. */
export const OTHER_STEPS = 'other-steps';
/** What a free share of fifty decibels costs in squares against a law that foretells it to one. */
const FREEDOM = 14;
/** Lines hang together: half their weight; and four squares are a nat (identify.ts). */
const SQUARES_PER_STRENGTH = 2;
/** A size met by chance must be looked for among all sizes (e^2.8 times those of a class), and is a hundred times rarer than a word of the sheets. */
const RARITY = 4 * (2.8 + Math.log(100));
/** Gain and clipping point are known to this. */
const STEP_REACH_DB = 0.4;
/** One wild point must not decide. */
const MOST_SQUARE = 16;
/** A linear word fits as well with 6 dB less signal and a bit more: the programme must have been recorded about full. */
export const LINEAR_RECORD_DB = { from: -2.5, to: 2.5 };
const LAW_RECORD_DB = { from: -15, to: 6 };
const LINEAR_RECORD_STEP_DB = 0.25;
const LAW_RECORD_STEP_DB = 0.5;
/** Gain and clipping point are known to `STEP_REACH_DB`; the noise of few steps changes within less. */
const ABOUT_CLIPPING_DB: readonly number[] = [-0.4, -0.2, 0, 0.2, 0.4];
const FLOOR_STEP_DB = 1.5;
const LEAST_POWER = 1e-16;

/** What lines of the device's own steps say beside the noise. */
export interface StepSigns {
  readonly steps: StepProfile;
  /** strength of lines in the noise that grew with the sound */
  readonly inGrownNoise: number;
}

/** Fits of the noise alone, for `rankWords`: making them takes long. */
export interface NoiseFits {
  readonly words: readonly { readonly stepDb: number; readonly fits: readonly WordFit[] }[];
  readonly levelNoise: WordFit;
}

export function fitNoise(channel: ChannelMeasurement, programmeBits: number, classes: readonly WordClass[]): NoiseFits {
  const gainDb = channel.levels.gainDb.value ?? 0;
  const points = pointsOf(channel);
  const own = programmeNoise(programmeBits) * 10 ** (gainDb / 10);
  const clipsAt = channel.levels.clippingDb.limit === undefined ? channel.levels.clippingDb.value : null;
  const words = classes.map((word) => {
    const isLaw = word.laws.length > 0;
    const { from, to } = isLaw ? LAW_RECORD_DB : LINEAR_RECORD_DB;
    const stepDb = isLaw ? LAW_RECORD_STEP_DB : LINEAR_RECORD_STEP_DB;
    // a clipping point is the device's full scale, whatever was assumed
    const records =
      clipsAt === null ? span(from, Math.min(to, 0.5), stepDb) : ABOUT_CLIPPING_DB.map((off) => off - clipsAt);
    const fits = wordModels(word).flatMap((model) =>
      records.map((recordDb) => fitModel(model, recordDb, points, channel, gainDb, own)),
    );
    return { stepDb: finestStepDb(word), fits };
  });
  return { words, levelNoise: levelNoiseFit(points, channel, gainDb, own) };
}

/** The best fit of each class and of what no class is, best first. */
export function rankWords({ words, levelNoise }: NoiseFits, signs?: StepSigns): WordFit[] {
  const best = words.map(({ stepDb, fits }) =>
    fits
      .map((fit) => spokenFor(fit, stepDb - fit.recordDb, signs))
      .reduce((least, one) => (one.squares < least.squares ? one : least)),
  );
  const lines = SQUARES_PER_STRENGTH * (signs?.inGrownNoise ?? 0);
  const unnamed = { ...levelNoise, squares: levelNoise.squares + lines };
  return [...best, unnamed, ...otherSteps(best, signs)].sort((a, b) => a.squares - b.squares);
}

function spokenFor(fit: WordFit, stepDb: number, signs: StepSigns | undefined): WordFit {
  if (!signs) return fit;
  const { strength } = strongestStep(signs.steps, stepDb - STEP_REACH_DB, stepDb + STEP_REACH_DB);
  return { ...fit, squares: fit.squares - SQUARES_PER_STRENGTH * strength };
}

/** Noise explained as well as by any class, with the steps that are seen best. */
function otherSteps(fits: readonly WordFit[], signs: StepSigns | undefined): WordFit[] {
  const { strength } = signs ? strongestStep(signs.steps) : { strength: 0 };
  if (strength === 0) return [];
  const best = fits.reduce((least, one) => (one.noiseSquares < least.noiseSquares ? one : least));
  const squares = best.noiseSquares - SQUARES_PER_STRENGTH * strength + RARITY;
  return [{ ...best, id: OTHER_STEPS, squares }];
}

/** Modulation noise and the like: a device without any law whose noise grows with the sound, by a share that nothing foretells. */
function levelNoiseFit(points: readonly Point[], channel: ChannelMeasurement, gainDb: number, own: number): WordFit {
  const shares = Array.from({ length: 51 }, (_, k) => 10 ** ((k - 90) / 10));
  const fits = shares.map((share) => {
    const curve = (levelDb: number) => share * 10 ** (levelDb / 10);
    const model: WordModel = { id: LEVEL_NOISE, converter: 'dithered', curve, doubtDb: () => 0 };
    return fitModel(model, 0, points, channel, gainDb, own);
  });
  const best = fits.reduce((least, one) => (one.squares < least.squares ? one : least));
  return { ...best, squares: best.squares + FREEDOM };
}

/** Triangular dither of one step and the rounding after it; the 16-bit programme is as noisy as a good 16-bit recorder. */
function programmeNoise(bits: number): number {
  return PROGRAMME_BITS.includes(bits) ? 2 ** (2 - 2 * bits) / 4 : 0;
}

function pointsOf({ ladder, levels }: ChannelMeasurement): Point[] {
  const clipsAt = levels.clippingDb.limit === undefined ? (levels.clippingDb.value ?? 0) : 0;
  return ladder
    .filter((step) => step.sentDb <= clipsAt - 0.3 || step.sentDb < -3)
    .filter((step) => step.sentDb <= Math.max(-0.5, clipsAt - 0.3))
    .map(({ sentDb, noisePower, noiseDb }) => ({
      sentDb,
      powerDb: 10 * Math.log10(Math.max(noisePower, LEAST_POWER)),
      uncertaintyDb: Math.min(6, noiseDb.uncertainty ?? 6) / 3,
    }));
}

function fitModel(
  model: WordModel,
  recordDb: number,
  points: readonly Point[],
  channel: ChannelMeasurement,
  gainDb: number,
  own: number,
): WordFit {
  const idle = Math.max(channel.idle.power, LEAST_POWER);
  const scale = 10 ** ((gainDb - recordDb) / 10);
  // a converter that noise does not keep busy swallows the programme's own dither
  const dither = model.converter === 'dithered' ? own : 0;
  const made = points.map(({ sentDb }) => model.curve(sentDb + recordDb) * scale + dither);
  const idleMade = model.curve(-200) * scale;
  const allowed = points.map(({ sentDb, uncertaintyDb }) =>
    Math.hypot(MODEL_DB, uncertaintyDb, 0.5 * model.doubtDb(sentDb + recordDb)),
  );
  const squaresAt = (floor: number) => {
    let sum = squareOf(10 * Math.log10(idle), idleMade + floor, 1.5);
    for (const [k, point] of points.entries()) sum += squareOf(point.powerDb, made[k] + floor, allowed[k]);
    return sum;
  };
  let best = { floor: LEAST_POWER, squares: squaresAt(LEAST_POWER) };
  const top = 10 * Math.log10(idle) + 3;
  for (let floorDb = top; floorDb > -155; floorDb -= FLOOR_STEP_DB) {
    const squares = squaresAt(10 ** (floorDb / 10));
    if (squares < best.squares) best = { floor: 10 ** (floorDb / 10), squares };
  }
  for (const step of [0.5, 0.2]) {
    for (const sign of [-1, 1]) {
      const floor = best.floor * 10 ** ((sign * step) / 10);
      const squares = squaresAt(floor);
      if (squares < best.squares) best = { floor, squares };
    }
  }
  return {
    id: model.id,
    misfit: best.squares / (points.length + 1),
    squares: best.squares,
    noiseSquares: best.squares,
    converter: model.converter,
    recordDb,
    floor: best.floor,
  };
}

function squareOf(measuredDb: number, power: number, allowedDb: number): number {
  const apart = (measuredDb - 10 * Math.log10(Math.max(power, LEAST_POWER))) / allowedDb;
  return Math.min(MOST_SQUARE, apart * apart);
}

function span(from: number, to: number, step: number): number[] {
  return Array.from({ length: Math.floor((to - from) / step) + 1 }, (_, k) => from + k * step);
}

// What the ladder says as a whole: gain, clipping point and headroom, linearity, dynamic range, effective bits, and noise against level.
// Methods after AES17 (certainty M) where named so; see docs/decisions/0015.
import { db, difference, FULL_SCALE_SINE, type Measured, measured, NOTHING, negated, shifted } from './measured.ts';
import type { ToneReading } from './tone-reading.ts';

export interface LevelStory {
  /** captured level against sent level in the middle of the range, dB */
  readonly gainDb: Measured;
  /** sent level (dBFS of the programme) at which the device begins to clip; a bound where it never did */
  readonly clippingDb: Measured;
  /** highest peaks that should be sent to the device: 3 dB below clipping (a choice, common practice) */
  readonly recommendedPeakDb: Measured;
  /** level that a full-scale tone has, or would have, in the capture, dBFS */
  readonly fullScaleDb: number;
  /** AES17: tone of -60 dBFS, CCIR-RMS weighted residual, against full scale, dB */
  readonly dynamicRangeDb: Measured;
  readonly dynamicRangeADb: Measured;
  readonly dynamicRangePlainDb: Measured;
  /** residual of the tone at -1 dBFS against the whole signal (at the highest step that does not clip where that is lower), dB */
  readonly thdnDb: Measured;
  readonly thdnAtDb: number | null;
  /** (ratio of full scale to the residual - 1.76 dB) / 6.02 dB over everything to half the rate: loud, and at -60 dBFS (IEEE 1241, certainty M) */
  readonly effectiveBits: Measured;
  readonly effectiveBitsQuiet: Measured;
  /** deviation from a straight line, dB against sent dBFS */
  readonly linearity: readonly { readonly sentDb: number; readonly deviationDb: Measured }[];
}

/** Headroom that peaks should keep. */
const HEADROOM_DB = 3;
/** A gain change this large (dB), beyond its uncertainty, is clipping. */
const LEAST_COMPRESSION_DB = 0.1;

export function levelStory(ladder: readonly ToneReading[]): LevelStory {
  const gainDb = middleGain(ladder);
  const clippingDb = clippingPoint(ladder, gainDb);
  const gain = gainDb.value ?? 0;
  const clipsAt = clippingDb.limit === undefined ? (clippingDb.value ?? 0) : 0;
  const fullScaleDb = gain + Math.min(0, clipsAt);
  const quiet = ladder.find((step) => step.sentDb === -60);
  const unclipped = ladder.filter((step) => step.sentDb <= Math.min(-1, clipsAt - 0.5));
  const loud = unclipped.at(-1);
  const range = (level: Measured | undefined) => (level ? shifted(negated(level), fullScaleDb) : NOTHING);
  return {
    gainDb,
    clippingDb,
    recommendedPeakDb: shifted(clippingDb, -HEADROOM_DB),
    fullScaleDb,
    dynamicRangeDb: range(quiet?.residualCcirDb),
    dynamicRangeADb: range(quiet?.residualADb),
    dynamicRangePlainDb: range(quiet?.residualDb),
    thdnDb: loud?.thdnDb ?? NOTHING,
    thdnAtDb: loud?.sentDb ?? null,
    effectiveBits: bits(loud, fullScaleDb),
    effectiveBitsQuiet: bits(quiet, fullScaleDb),
    linearity: ladder.map(({ sentDb, levelDb }) => ({
      sentDb,
      deviationDb: shifted(difference(levelDb, gainDb), -sentDb),
    })),
  };
}

/** Between -40 and -12 dBFS, where neither clipping nor noise reaches. */
function middleGain(ladder: readonly ToneReading[]): Measured {
  const gains = ladder
    .filter(({ sentDb, levelDb }) => sentDb >= -40 && sentDb <= -12 && levelDb.value !== null)
    .map(({ sentDb, levelDb }) => ({ value: (levelDb.value ?? 0) - sentDb, uncertainty: levelDb.uncertainty ?? 0 }))
    .sort((a, b) => a.value - b.value);
  const middle = gains[gains.length >> 1];
  return middle ? measured(middle.value, middle.uncertainty) : NOTHING;
}

/**
 * A hard limit at r times the tone's peak leaves (2/pi)(asin r + r sqrt(1 - r^2)) of the tone (its describing function); solved for r at
 * every step that is too weak, loudest first. Steps that disagree (soft limiting) widen the uncertainty.
 */
function clippingPoint(ladder: readonly ToneReading[], gain: Measured): Measured {
  const found: number[] = [];
  let uncertainty = gain.uncertainty ?? 0;
  for (const step of [...ladder].reverse()) {
    const { value, uncertainty: own } = difference(step.levelDb, gain);
    if (value === null) break;
    const compression = step.sentDb - value;
    if (compression < LEAST_COMPRESSION_DB + (own ?? 0)) break;
    found.push(step.sentDb + db(clipRatio(10 ** (-compression / 20))));
    uncertainty = Math.max(uncertainty, own ?? 0);
  }
  const loudest = ladder.at(-1)?.sentDb ?? 0;
  if (found.length === 0)
    return gain.value === null ? NOTHING : { value: loudest, uncertainty: null, limit: 'at-least' };
  const spread = Math.max(...found) - Math.min(...found);
  // where little is cut off, the cut is very sensitive to the gain: the loudest step counts, the others only spread
  return measured(found[0], 0.05 + spread + 4 * uncertainty);
}

function clipRatio(left: number): number {
  let [low, high] = [0, 1];
  for (let k = 0; k < 50; k++) {
    const r = (low + high) / 2;
    const gain = (2 / Math.PI) * (Math.asin(r) + r * Math.sqrt(1 - r * r));
    if (gain < left) low = r;
    else high = r;
  }
  return (low + high) / 2;
}

function bits(step: ToneReading | undefined, fullScaleDb: number): Measured {
  if (!step || !(step.residualPower > 0)) return NOTHING;
  const ratioDb = fullScaleDb - 10 * Math.log10(step.residualPower / FULL_SCALE_SINE);
  const uncertainty = (step.residualDb.uncertainty ?? 0.1) / 6.02;
  return measured((ratioDb - 1.76) / 6.02, uncertainty);
}

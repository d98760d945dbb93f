// Detector: how loud the recording is as a listener would rate it: ITU-R BS.1770 integrated loudness, EBU Tech 3341 maxima,
// EBU Tech 3342 range. One answer for the file. Judges nothing against a delivery target.
import { type Block, type FrameInfo, type JsonObject, rateHz } from '../../base/index.ts';
import { LoudnessMeter, type LoudnessReading } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit, NotApplicable } from '../detector.ts';

export interface LoudnessSettings extends JsonObject {
  /** per file channel, BS.1770: 1 for left, right, centre, 1.41 for surrounds, 0 for low-frequency effects; empty: 1 for all */
  readonly channelWeights: readonly number[];
}

/** The corner of the K-weighting at 1.7 kHz must lie well below half the rate. */
const LOWEST_RATE_HZ = 8000;

export const loudness: Detector<LoudnessSettings> = {
  meta: {
    id: 'loudness',
    version: 1,
    label: 'Loudness',
    needs: 'a sampling rate of at least 8 kHz; 0.4 s above -70 LUFS for an answer',
    settings: { channelWeights: [] },
  },
  begin: (info, { channelWeights }, emit) => {
    const weights = channelWeights.length ? channelWeights : new Array<number>(info.channels).fill(1);
    return declined(info, weights) ?? new LoudnessSession(info, weights, emit);
  },
};

function declined(info: FrameInfo, weights: readonly number[]): NotApplicable | undefined {
  if (rateHz(info.rate) < LOWEST_RATE_HZ) return { notApplicable: 'the weighting needs a rate of at least 8 kHz' };
  if (weights.length !== info.channels) {
    return { notApplicable: `${weights.length} channel weights were given for ${info.channels} channels` };
  }
  if (!weights.every((weight) => weight >= 0 && Number.isFinite(weight))) {
    return { notApplicable: 'a channel weight is no number of 0 or more' };
  }
  return undefined;
}

class LoudnessSession implements DetectorSession {
  readonly #meter: LoudnessMeter;
  readonly #weights: readonly number[];
  readonly #emit: Emit;

  constructor({ rate, bits }: FrameInfo, weights: readonly number[], emit: Emit) {
    this.#meter = new LoudnessMeter({ rate, bits, weights });
    this.#weights = weights;
    this.#emit = emit;
  }

  push(block: Block): void {
    this.#meter.push(block.planes, block.frames);
  }

  finish(): undefined {
    const reading = this.#meter.finish();
    this.#emit.verdict({
      channel: 0,
      question: 'loudness',
      answer: rounded(reading.integrated) ?? 'cannot tell',
      confidence: reading.integrated === null ? 0 : confidenceFor(this.#weights),
      detectionLimit: limitText(reading, this.#weights),
      evidence: evidenceOf(reading, this.#weights),
    });
  }
}

function evidenceOf(reading: LoudnessReading, weights: readonly number[]): JsonObject {
  const { blocks, aboveAbsolute, aboveRelative, relativeGate } = reading.gating;
  return {
    unit: 'LUFS',
    integrated: rounded(reading.integrated),
    rangeLu: rounded(reading.range),
    maxMomentary: rounded(reading.maxMomentary),
    maxShortTerm: rounded(reading.maxShortTerm),
    gating: { blocks, aboveAbsolute, aboveRelative, relativeGate: rounded(relativeGate) },
    channelWeights: weights,
    channelsAlone: reading.channels.map(rounded),
  };
}

/** One or two channels have one reading; more could stand in a layout with other weights, which the file cannot tell. */
function confidenceFor(weights: readonly number[]): number {
  return weights.length <= 2 || weights.some((weight) => weight !== 1) ? 1 : 0.5;
}

function limitText({ integrated, gating, range }: LoudnessReading, weights: readonly number[]): string {
  const parts = [gateText(integrated, gating.blocks)];
  if (integrated !== null && range === null) parts.push('no range: no 3 s above -70 LUFS');
  parts.push(weightText(weights));
  return parts.join('; ');
}

function gateText(integrated: number | null, blocks: number): string {
  if (integrated !== null) return 'blocks below -70 LUFS, or 10 LU below the mean of the others, are not counted';
  return blocks === 0 ? 'shorter than one block of 400 ms' : `none of ${blocks} blocks of 400 ms is above -70 LUFS`;
}

function weightText(weights: readonly number[]): string {
  if (weights.some((weight) => weight !== 1)) return `channel weights as given: ${weights.join(', ')}`;
  if (weights.length <= 2) return 'every channel has weight 1';
  return (
    'assumed: every channel has weight 1, as if all were heard at once from the front; tape channels have no ' +
    'loudspeaker positions, and in a surround layout the rear ones would weigh 1.41'
  );
}

function rounded(value: number | null): number | null {
  return value === null ? null : Math.round(value * 100) / 100;
}

// Lines that a device's own steps leave in a capture, read once for all who ask: the size of the finest steps and the places of each sampling rate.
// Knows which lines may be the capture's own. Not for answers (identify.ts, rate-answer.ts).
import { type FrameSource, type Rate, rateHz, type StopSignal, throwIfStopped } from '../../base/index.ts';
import type { CaptureMeasurement, ChannelMeasurement } from '../analyse/measure-capture.ts';
import { sheetRates } from './hypotheses.ts';
import { type StepProfile, stepProfile, strongestStep } from './quiet-steps.ts';
import { type RateLines, type RateScore, rateScores } from './rate-lines.ts';
import { type ToneSpectrum, toneSpectrum } from './tone-spectrum.ts';

export interface DeviceLines {
  /** of the finest steps; nothing where they may be the file's own */
  readonly steps: StepProfile;
  /** rates that the band edge allows */
  readonly rates: RateLines;
  /** where the band ends, Hz, or is seen to reach at least */
  readonly edgeHz: number;
  readonly isBound: boolean;
  /** the steps seen are as fine as the file's own: a recorder may have made them, and the lines */
  readonly areFileSteps: boolean;
}

/** A band ends between these shares of the rate. */
export const EDGE_SHARES = { least: 0.38, most: 0.53 };
const LEAST_IMAGE_HZ = 6000;
/** Tones this close to clipping are left out. */
const CLEAR_OF_CLIPPING_DB = 0.5;
/** Steps up to this much above those of the file are taken for the file's: a record level is known to half a decibel. */
export const FILE_STEP_DB = 1.5;
/** Noise this much above the quietest has grown with the sound. */
const GROWN = 1.5;
/** Filters bend what lies near the band's edge. */
const FLAT_SHARE = 0.9;
/** Strength from which lines of a rate are there at all: chance gives 2 to 4. */
export const LEAST_STRENGTH = 20;

/** `fileBits`: bits of the capture's words that are used. `isDigital`: those words are the device's own. */
export async function deviceLines(
  source: FrameSource,
  measurement: CaptureMeasurement,
  channel: ChannelMeasurement,
  fileBits: number,
  isDigital: boolean,
  stop?: StopSignal,
): Promise<DeviceLines> {
  const { ladder, high } = await spectraOf(source, measurement, channel, stop);
  const { stopHz, topHz, highEdgeHz } = channel.response;
  const edgeHz = stopHz ?? highEdgeHz.value ?? topHz;
  const isBound = stopHz === null;
  const gainDb = channel.levels.gainDb.value ?? 0;
  const gain = 10 ** (gainDb / 20);
  const steps = stepProfile(ladder, gain, FLAT_SHARE * edgeHz);
  const fileStepDb = 20 * Math.log10(2 ** (1 - fileBits)) - gainDb;
  const areFileSteps = !isDigital && strongestStep(steps).stepDb <= fileStepDb + FILE_STEP_DB;
  return {
    steps: areFileSteps ? { strengths: steps.strengths.map(() => 0) } : steps,
    rates: rateScores(ladder, high, gain, edgeHz, plausibleRates(edgeHz, isBound)),
    edgeHz,
    isBound,
    areFileSteps,
  };
}

async function spectraOf(
  source: FrameSource,
  { placement }: CaptureMeasurement,
  { channel, levels }: ChannelMeasurement,
  stop: StopSignal | undefined,
): Promise<{ ladder: ToneSpectrum[]; high: ToneSpectrum[] }> {
  const clipsAt = levels.clippingDb.limit === undefined ? (levels.clippingDb.value ?? 0) : Number.POSITIVE_INFINITY;
  const [ladder, high]: [ToneSpectrum[], ToneSpectrum[]] = [[], []];
  for (const section of placement.plan.sections) {
    throwIfStopped(stop);
    const tone = section.sound.kind === 'tones' ? section.sound.tones[0] : undefined;
    if (!tone) continue;
    const read = () => toneSpectrum(source, placement, section, tone, channel - 1);
    if (section.group === 'ladder' && tone.levelDb < clipsAt - CLEAR_OF_CLIPPING_DB) ladder.push(await read());
    else if (section.group === 'tones' && tone.hz >= LEAST_IMAGE_HZ) high.push(await read());
  }
  return { ladder, high };
}

function plausibleRates(edgeHz: number, isBound: boolean): Rate[] {
  return sheetRates().filter((rate) => {
    const hz = rateHz(rate);
    return hz * EDGE_SHARES.most >= edgeHz && (isBound || hz * EDGE_SHARES.least <= edgeHz);
  });
}

/** The rate whose lines stand out most, where any do. */
export function spokenRate({ rates, areFileSteps }: DeviceLines): RateScore | undefined {
  const [best] = [...rates.scores].sort((a, b) => b.score - a.score);
  const isSpoken = best !== undefined && best.score >= Math.max(LEAST_STRENGTH, rates.chance / 2) && !areFileSteps;
  return isSpoken ? best : undefined;
}

/** How strongly lines stand in the noise that grew with the sound: there steps made it, and not the sound alone. */
export function strengthInGrownNoise(lines: DeviceLines, { ladder }: ChannelMeasurement): number {
  const quietest = Math.min(...ladder.map((step) => step.noisePower));
  const grown = new Set(ladder.filter((step) => step.noisePower > GROWN * quietest).map((step) => step.sentDb));
  const steps = spokenRate(lines)?.steps ?? [];
  return steps.reduce((sum, one) => sum + (grown.has(one.sentDb) ? one.score : 0), 0);
}

// Detector: a fraction of a sample between the two channels of a pair (1-2, 3-4 ..), as one converter working for both in turn
// leaves (half a sample). Not for whole-sample offsets between captures (align) and not for correcting anything.
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { PairSpectrum } from './pair-spectrum.ts';
import { type PhaseSlope, phaseSlope } from './phase-slope.ts';

export interface SkewSettings extends JsonObject {
  /** windows looked at, spread over the recording */
  readonly mostWindows: number;
  readonly fewestWindows: number;
  /** an answer needs a stated uncertainty no larger than this, in samples */
  readonly widestUncertainty: number;
  /** delays beyond this are no converter's, in samples */
  readonly farthest: number;
}

export const skew: Detector<SkewSettings> = {
  meta: {
    id: 'skew',
    version: 1,
    label: 'Skew within pairs',
    needs: 'at least two channels',
    settings: { mostWindows: 160, fewestWindows: 12, widestUncertainty: 0.02, farthest: 2 },
  },
  begin(info, settings, emit) {
    if (info.channels < 2) return { notApplicable: 'one channel only' };
    return new SkewSession(info, settings, emit);
  },
};

const WINDOW = 1024;

class SkewSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: SkewSettings;
  readonly #emit: Emit;
  readonly #pairs: PairSpectrum[];
  readonly #windows: SpreadWindows;

  constructor(info: FrameInfo, settings: SkewSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#pairs = Array.from({ length: info.channels >> 1 }, () => new PairSpectrum(WINDOW));
    this.#windows = new SpreadWindows(info, WINDOW, settings.mostWindows, (planes) => {
      if (planes[0].length < WINDOW) return;
      for (const [p, pair] of this.#pairs.entries()) pair.add(planes[2 * p], planes[2 * p + 1]);
    });
  }

  push(block: Block): void {
    this.#windows.push(block);
  }

  finish(): undefined {
    if (this.#info.frames === 0) return;
    for (const [p, pair] of this.#pairs.entries()) {
      const slope = pair.windows < this.#settings.fewestWindows ? undefined : phaseSlope(pair, this.#settings.farthest);
      this.#say(p, pair, slope);
    }
  }

  #say(p: number, pair: PairSpectrum, slope: PhaseSlope | undefined): void {
    const { widestUncertainty, fewestWindows } = this.#settings;
    const canTell = slope?.isClear === true && slope.uncertainty <= widestUncertainty;
    const halves = slope ? Math.abs(Math.abs(slope.delay) - 0.5) : 1;
    this.#emit.verdict({
      channel: 2 * p + 2,
      question: 'skew',
      answer: canTell ? Number(slope.delay.toFixed(4)) + 0 : 'cannot tell',
      confidence: canTell ? 0.99 : 0,
      detectionLimit: canTell
        ? `delay of channel ${2 * p + 2} behind ${2 * p + 1}, +-${slope.uncertainty.toPrecision(2)} samples; a pair of microphones at unequal distances delays just so`
        : slope === undefined
          ? `needs ${fewestWindows} sounding windows of ${WINDOW} frames in both channels; found ${pair.windows}`
          : `${slope.reason}; a delay shows only in sound common to both channels`,
      evidence: {
        with: 2 * p + 1,
        unit: 'samples',
        uncertainty: slope?.uncertainty ?? null,
        estimate: slope?.delay ?? null,
        isInverted: slope?.isInverted ?? null,
        coherentShare: slope?.coherentShare ?? null,
        agreement: slope?.agreement ?? null,
        isHalfSample: canTell ? halves <= slope.uncertainty + 0.005 : null,
        windows: pair.windows,
      },
    });
  }
}

// Detector: the constant part of each channel, second by second: its mean, whether it drifts and where it steps, each with what low
// music alone would make of it. Judges nothing: a converter's offset is a fact. Memory: bounded, blocks of seconds are joined.
import { type Block, type FrameInfo, type JsonObject, rateHz } from '../../base/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { type DcTrend, trendOf } from './dc-trend.ts';

export interface DcDriftSettings extends JsonObject {
  /** stretches of one second kept before two and two are joined */
  readonly mostStretches: number;
}

export const dcDrift: Detector<DcDriftSettings> = {
  meta: {
    id: 'dc-drift',
    version: 1,
    label: 'DC and its drift',
    needs: 'at least one frame',
    settings: { mostStretches: 4096 },
  },
  begin: (info, settings, emit) => new DcDriftSession(info, settings, emit),
};

class DcDriftSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: DcDriftSettings;
  readonly #emit: Emit;
  /** sums of full stretches, per channel; exact integers below 2^53 */
  #sums: number[][];
  #current: number[];
  #stretchFrames: number;
  #totals: number[];

  constructor(info: FrameInfo, settings: DcDriftSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#sums = Array.from({ length: info.channels }, () => []);
    this.#current = Array.from({ length: info.channels }, () => 0);
    this.#totals = Array.from({ length: info.channels }, () => 0);
    this.#stretchFrames = Math.max(1, Math.round(rateHz(info.rate)));
  }

  push(block: Block): void {
    for (let at = 0; at < block.frames; ) {
      const position = block.start + at;
      const end = Math.min(block.frames, at + this.#stretchFrames - (position % this.#stretchFrames));
      for (let c = 0; c < this.#current.length; c++) {
        const sum = sumOf(block.planes[c], at, end);
        this.#current[c] += sum;
        this.#totals[c] += sum;
      }
      at = end;
      if ((block.start + at) % this.#stretchFrames === 0) this.#closeStretch();
    }
  }

  finish(): undefined {
    if (this.#info.frames === 0) return;
    for (const [c, sums] of this.#sums.entries()) {
      const means = Float64Array.from(sums, (sum) => sum / this.#stretchFrames);
      this.#say(c, this.#totals[c] / this.#info.frames, trendOf(means));
    }
  }

  #closeStretch(): void {
    for (let c = 0; c < this.#sums.length; c++) {
      this.#sums[c].push(this.#current[c]);
      this.#current[c] = 0;
    }
    if (this.#sums[0].length < this.#settings.mostStretches) return;
    this.#sums = this.#sums.map((sums) =>
      Array.from({ length: sums.length / 2 }, (_, i) => sums[2 * i] + sums[2 * i + 1]),
    );
    this.#stretchFrames *= 2;
  }

  #say(c: number, mean: number, trend: DcTrend | undefined): void {
    const perMinute = (60 * rateHz(this.#info.rate)) / this.#stretchFrames;
    this.#emit.verdict({
      channel: c + 1,
      question: 'dc',
      answer: Number(mean.toFixed(3)),
      confidence: trend ? 0.95 : 0.5,
      detectionLimit: trend
        ? `mean of all samples; low sound alone lets it scatter by ${trend.uncertainty.toPrecision(2)} steps (twice the standard deviation)`
        : 'mean of all samples; under four seconds, so that low sound cannot be told from an offset',
      evidence: {
        unit: 'steps of the container',
        uncertainty: trend ? trend.uncertainty : null,
        isSignificant: trend ? Math.abs(mean) > trend.uncertainty : null,
        driftPerMinute: trend ? trend.slope * perMinute : null,
        driftUncertainty: trend ? trend.slopeUncertainty * perMinute : null,
        driftIsSignificant: trend ? Math.abs(trend.slope) > trend.slopeUncertainty : null,
        largestStep: trend
          ? {
              start: trend.step.at * this.#stretchFrames,
              steps: trend.step.change,
              expectedByChance: trend.step.expectedByChance,
            }
          : null,
        stretchFrames: this.#stretchFrames,
      },
    });
  }
}

function sumOf(plane: Int32Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += plane[i];
  return sum;
}

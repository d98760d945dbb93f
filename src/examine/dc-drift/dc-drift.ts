// Detector: the constant part of each channel, second by second: its mean, whether it drifts and where it steps, each with what low
// music alone would make of it. Judges nothing: a converter's offset is a fact. Memory: bounded, blocks of seconds are joined.
import { type Block, type FrameInfo, type JsonObject, rateHz } from '../../base/index.ts';
import { sumBetween } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
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
    if (block.frames === 0) return;
    const cuts = this.#cutsOf(block);
    const statistics = statisticsOf(block);
    const sums = block.planes.map((plane, c) => sumsBetween(plane, cuts, statistics[c].sum));
    for (let part = 0; part + 1 < cuts.length; part++) {
      for (let c = 0; c < this.#current.length; c++) {
        this.#current[c] += sums[c][part];
        this.#totals[c] += sums[c][part];
      }
      if ((block.start + cuts[part + 1]) % this.#stretchFrames === 0) this.#closeStretch();
    }
  }

  finish(): undefined {
    if (this.#info.frames === 0) return;
    for (const [c, sums] of this.#sums.entries()) {
      const means = Float64Array.from(sums, (sum) => sum / this.#stretchFrames);
      this.#say(c, this.#totals[c] / this.#info.frames, trendOf(means));
    }
  }

  /** The block's ends and the ends of stretches within it. Stretches that are joined meanwhile only make some of them needless. */
  #cutsOf(block: Block): number[] {
    const cuts = [0];
    for (let at = 0; at < block.frames; ) {
      at = Math.min(block.frames, at + this.#stretchFrames - ((block.start + at) % this.#stretchFrames));
      cuts.push(at);
    }
    return cuts;
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

/** Of the parts between the cuts; the longest is what the others leave of the total, and is not walked. Exact below 2^53. */
function sumsBetween(plane: Int32Array, cuts: readonly number[], total: number): number[] {
  const lengths = cuts.slice(1).map((cut, part) => cut - cuts[part]);
  const longest = lengths.indexOf(Math.max(...lengths));
  const sums = lengths.map((_, part) => (part === longest ? 0 : sumBetween(plane, cuts[part], cuts[part + 1])));
  sums[longest] = total - sums.reduce((all, sum) => all + sum, 0);
  return sums;
}

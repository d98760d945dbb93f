// Detector: rows of samples at the end of the scale. Not for overloads before the converter, which may flatten lower down.
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';

export interface ClippingSettings extends JsonObject {
  /** consecutive samples at the limit that count as clipped (common practice, no source) */
  readonly shortestFrames: number;
  /** findings per channel that are listed one by one; the rest is counted in the verdict */
  readonly mostListed: number;
}

export const clipping: Detector<ClippingSettings> = {
  meta: {
    id: 'clipping',
    version: 1,
    label: 'Clipping',
    needs: 'at least one frame',
    settings: { shortestFrames: 3, mostListed: 1000 },
  },
  begin: (info, settings, emit) => new ClippingSession(info, settings, emit),
};

interface Run {
  start: number;
  length: number;
  value: number;
  runs: number;
  frames: number;
}

class ClippingSession implements DetectorSession {
  readonly #settings: ClippingSettings;
  readonly #emit: Emit;
  readonly #limits: readonly [number, number];
  readonly #channels: Run[];

  constructor(info: FrameInfo, settings: ClippingSettings, emit: Emit) {
    this.#settings = settings;
    this.#emit = emit;
    // A word of fewer bits than the container ends at its own highest step, so the top is met from just below.
    this.#limits = [-(2 ** (info.bits - 1)), 2 ** (info.bits - 1) - 1];
    this.#channels = Array.from({ length: info.channels }, () => ({
      start: 0,
      length: 0,
      value: 0,
      runs: 0,
      frames: 0,
    }));
  }

  push(block: Block): void {
    const [low, high] = this.#limits;
    const nearHigh = high - (high >> 12);
    const statistics = statisticsOf(block);
    for (let c = 0; c < this.#channels.length; c++) {
      const plane = block.planes[c];
      const run = this.#channels[c];
      if (run.length === 0 && statistics[c].max < nearHigh && statistics[c].min > low) continue;
      for (let i = 0; i < plane.length; i++) {
        const x = plane[i];
        if (run.length > 0 && x === run.value) run.length++;
        else {
          if (run.length > 0) this.#close(c);
          if (x >= nearHigh || x === low) {
            run.start = block.start + i;
            run.length = 1;
            run.value = x;
          }
        }
      }
    }
  }

  finish(): undefined {
    for (const [c, run] of this.#channels.entries()) {
      this.#close(c);
      this.#emit.verdict({
        channel: c + 1,
        question: 'clipped',
        answer: run.runs > 0,
        confidence: 0.99,
        detectionLimit: `rows of at least ${this.#settings.shortestFrames} equal samples within 0.03 % of full scale`,
        evidence: { rows: run.runs, frames: run.frames },
      });
    }
  }

  #close(c: number): void {
    const run = this.#channels[c];
    if (run.length >= this.#settings.shortestFrames) {
      run.runs++;
      run.frames += run.length;
      if (run.runs <= this.#settings.mostListed) {
        this.#emit.finding({
          detector: 'clipping',
          version: 1,
          kind: 'clipped',
          channels: [c + 1],
          start: run.start,
          length: run.length,
          confidence: 0.99,
          expectedByChance: 0,
          measured: run.value,
          expected: null,
          unit: 'sample value',
          detail: {},
        });
      }
    }
    run.length = 0;
  }
}

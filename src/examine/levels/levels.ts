// Detector: levels as facts: peak, mean level, DC, and how the samples spread over the levels. Judges nothing.
// Levels are referred to a full-scale sample (peak) and to a full-scale sine (mean level, AES17 convention, certainty M).
import type { Block, FrameInfo } from '../../base/index.ts';
import type { PlaneStatistics } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';

/** Histogram bins of 1 dB below full scale, the last one for everything quieter. */
const BINS = 121;

export const levels: Detector = {
  meta: { id: 'levels', version: 1, label: 'Levels', needs: 'at least one frame', settings: {} },
  begin: (info, _settings, emit) => new LevelsSession(info, emit),
};

interface Tally {
  max: number;
  min: number;
  sum: number;
  /** sum of squares = squaresHigh * 2^32 + squaresLow */
  squaresHigh: number;
  squaresLow: number;
  readonly octaves: Float64Array;
}

class LevelsSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #emit: Emit;
  readonly #tallies: Tally[];
  #frames = 0;

  constructor(info: FrameInfo, emit: Emit) {
    this.#info = info;
    this.#emit = emit;
    // Counted in 1/8 octaves of magnitude by exponent and mantissa: exact integers, turned into decibels at the end.
    this.#tallies = Array.from({ length: info.channels }, () => ({
      max: Number.NEGATIVE_INFINITY,
      min: Number.POSITIVE_INFINITY,
      sum: 0,
      squaresHigh: 0,
      squaresLow: 0,
      octaves: new Float64Array(33 * 8),
    }));
  }

  push(block: Block): void {
    this.#frames += block.frames;
    for (const [c, plane] of statisticsOf(block).entries()) tally(this.#tallies[c], plane);
  }

  finish(): undefined {
    const full = 2 ** (this.#info.bits - 1);
    for (const [c, t] of this.#tallies.entries()) {
      if (this.#frames === 0) continue;
      const peak = Math.max(t.max, -t.min);
      const rms = Math.sqrt((t.squaresHigh * 2 ** 32 + t.squaresLow) / this.#frames);
      this.#emit.verdict({
        channel: c + 1,
        question: 'peak-level',
        answer: peak === 0 ? 'digital silence' : roundDb(decibels(peak / full)),
        confidence: 1,
        detectionLimit: 'sample peak; the wave between samples may be higher',
        evidence: {
          unit: 'dB below a full-scale sample',
          peak,
          max: t.max,
          min: t.min,
          dc: t.sum / this.#frames,
          meanLevelDb: rms === 0 ? null : roundDb(decibels((rms * Math.SQRT2) / full)),
          histogramDb: histogram(t.octaves, full),
        },
      });
    }
  }
}

function tally(t: Tally, plane: PlaneStatistics): void {
  t.max = Math.max(t.max, plane.max);
  t.min = Math.min(t.min, plane.min);
  t.sum += plane.sum;
  // In two parts that stay exact integers, so that the level does not depend on how the recording was cut into blocks.
  const low = t.squaresLow + plane.squaresLow;
  t.squaresHigh += plane.squaresHigh + Math.floor(low / 2 ** 32);
  t.squaresLow = low % 2 ** 32;
  for (let k = 0; k < plane.octaves.length; k++) t.octaves[k] += plane.octaves[k];
}

/** Counts per decibel: [0] is 0..-1 dB, the last bin takes everything quieter, digital zero included. */
function histogram(octaves: Float64Array, full: number): number[] {
  const bins = new Array<number>(BINS).fill(0);
  for (let k = 0; k < octaves.length; k++) {
    if (octaves[k] === 0) continue;
    const exponent = k >> 3;
    const magnitude = exponent === 0 ? 0 : 2 ** (exponent - 1) * (1 + ((k & 7) + 0.5) / 8);
    const db = magnitude === 0 ? BINS - 1 : Math.floor(-decibels(Math.min(1, magnitude / full)));
    bins[Math.min(BINS - 1, Math.max(0, db))] += octaves[k];
  }
  return bins;
}

function decibels(ratio: number): number {
  return 20 * Math.log10(ratio);
}

function roundDb(db: number): number {
  return Math.round(db * 100) / 100;
}

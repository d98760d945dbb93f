// Detector: levels as facts: peak, mean level, DC, and how the samples spread over the levels. Judges nothing.
// Levels are referred to a full-scale sample (peak) and to a full-scale sine (mean level, AES17 convention, certainty M).
import type { Block, FrameInfo } from '../../base/index.ts';
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
  squares: number;
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
      squares: 0,
      octaves: new Float64Array(33 * 8),
    }));
  }

  push(block: Block): void {
    this.#frames += block.frames;
    for (let c = 0; c < this.#tallies.length; c++) tally(this.#tallies[c], block.planes[c]);
  }

  finish(): undefined {
    const full = 2 ** (this.#info.bits - 1);
    for (const [c, t] of this.#tallies.entries()) {
      if (this.#frames === 0) continue;
      const peak = Math.max(t.max, -t.min);
      const rms = Math.sqrt(t.squares / this.#frames);
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

function tally(t: Tally, plane: Int32Array): void {
  let { max, min } = t;
  // Sums per block stay exact integers (|x| < 2^31, blocks far below 2^22 frames) before they join the running floats.
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < plane.length; i++) {
    const x = plane[i];
    if (x > max) max = x;
    if (x < min) min = x;
    sum += x;
    squares += x * x;
    const magnitude = x < 0 ? -x : x;
    const exponent = 32 - Math.clz32(magnitude);
    t.octaves[(exponent << 3) | (exponent > 3 ? (magnitude >>> (exponent - 4)) & 7 : 0)]++;
  }
  t.max = max;
  t.min = min;
  t.sum += sum;
  t.squares += squares;
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

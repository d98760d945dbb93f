// Power of what remains against frequency, in thirds of an octave and against full scale, and where most of it lies. Not for explaining it.
import { powerSpectrum } from '../../../signal/index.ts';

export interface SpectrumBand {
  readonly hz: number;
  /** power in the band, dB against a full-scale sine; null where there is none */
  readonly db: number | null;
}

export interface DifferenceSpectrum {
  readonly bands: readonly SpectrumBand[];
  /** the narrow place that holds most, when it holds more than half */
  readonly lineHz?: number;
  /** mean density of the quietest, the middle and the loudest sixteenth of the band, relative to white with the same power */
  readonly quietest: number;
  readonly middle: number;
  readonly loudest: number;
  readonly loudestHz: number;
}

const SIZE = 2048;
const PARTS = 16;
const LINE_BINS = 3;

/** `full`: the size of a full-scale sample in the unit of the values; parts are those of the band up to `topHz`. */
export function differenceSpectrum(
  runs: readonly Float64Array[],
  rateHz: number,
  full: number,
  topHz: number,
): DifferenceSpectrum | undefined {
  const power = new Float64Array(SIZE / 2 + 1);
  let count = 0;
  for (const run of runs) {
    for (let at = 0; at + SIZE <= run.length; at += SIZE) {
      const windowed = run.slice(at, at + SIZE).map((x, n) => x * (1 - Math.cos((2 * Math.PI * n) / SIZE)));
      const own = powerSpectrum(windowed, SIZE);
      for (let k = 0; k < power.length; k++) power[k] += own[k];
      count++;
    }
  }
  const total = power.subarray(1).reduce((a, b) => a + b, 0);
  if (count === 0 || total === 0) return undefined;
  // Hann of gain 1: mean square of the window is 1.5
  const scale = 2 / (1.5 * SIZE * SIZE * count) / (full * full * 0.5);
  return {
    bands: thirdOctaves(power, rateHz, scale),
    ...lineOf(power, total, rateHz),
    ...partsOf(power, topHz, rateHz),
  };
}

function thirdOctaves(power: Float64Array, rateHz: number, scale: number): SpectrumBand[] {
  const bands: SpectrumBand[] = [];
  // nominal middles are 1000 * 10^(n/10) (IEC 61260-1; certainty M)
  for (let n = -13; ; n++) {
    const hz = 1000 * 10 ** (n / 10);
    const [from, to] = [hz * 10 ** -0.05, hz * 10 ** 0.05].map((edge) => Math.round((edge / rateHz) * SIZE));
    if (to > SIZE / 2) return bands;
    if (to <= from) continue;
    const sum = power.subarray(Math.max(1, from), to).reduce((a, b) => a + b, 0);
    bands.push({ hz, db: sum > 0 ? 10 * Math.log10(sum * scale) : null });
  }
}

function lineOf(power: Float64Array, total: number, rateHz: number): { lineHz?: number } {
  let best = 1;
  for (let k = 1; k < power.length; k++) if (power[k] > power[best]) best = k;
  const share = power.subarray(Math.max(1, best - LINE_BINS), best + LINE_BINS + 1).reduce((a, b) => a + b, 0) / total;
  return share > 0.5 ? { lineHz: (best * rateHz) / SIZE } : {};
}

function partsOf(power: Float64Array, topHz: number, rateHz: number) {
  const width = Math.floor(((topHz / rateHz) * SIZE) / PARTS);
  const sums = Array.from({ length: PARTS }, (_, k) =>
    power.subarray(1 + k * width, 1 + (k + 1) * width).reduce((a, b) => a + b, 0),
  );
  const white = (power.subarray(1).reduce((a, b) => a + b, 0) * width) / (power.length - 1);
  const densities = sums.map((sum) => sum / white);
  const loudest = Math.max(...densities);
  return {
    quietest: Math.min(...densities),
    middle: [...densities].sort((a, b) => a - b)[PARTS / 2],
    loudest,
    loudestHz: ((densities.indexOf(loudest) + 0.5) * width * rateHz) / SIZE,
  };
}

// The interpolator of the true-peak meter and the three bounds on what it can give, from which the meter knows where not to
// look. Not for changing rates (resample.ts). ITU-R BS.1770 Annex 2 asks for at least 4 times 48 kHz and leaves the filter open.

/** Samples on each side of the interpolated place. */
export const TRUE_PEAK_REACH = 12;
export const TRUE_PEAK_TAPS = 2 * TRUE_PEAK_REACH;
/** Up to this share of the sampling rate a tone is passed within 0.03 dB (measured; test beside). */
export const TRUE_PEAK_PASSBAND = 0.42;
/** Kaiser window of about 60 dB */
const BETA = 5.65;

export interface TruePeakFilter {
  readonly factor: number;
  /**
   * Row p-1 interpolates p/factor after a sample, p = 1 … factor-1; tap k weighs the sample k - (REACH - 1) after it.
   * Each row passes a straight line unchanged.
   */
  readonly rows: Float64Array;
  /**
   * For p = 1 … factor/2 half the sum and half the difference of row p and its mirror, row factor-p, REACH taps each: with
   * sums and differences of the samples that lie opposite each other, even ± odd are the outputs of both rows.
   */
  readonly mirrored: Float64Array;
  /** largest |tap| of each column: |output| <= sum of envelope[k] x |sample k| */
  readonly envelope: Float64Array;
  /** |output| <= sumOfTaps x the largest |sample| in reach */
  readonly sumOfTaps: number;
  /** |output| <= the larger of the two samples beside it + bend x the largest |second difference| in reach */
  readonly bend: number;
}

export function truePeakFilter(factor: number): TruePeakFilter {
  const rows = new Float64Array((factor - 1) * TRUE_PEAK_TAPS);
  const envelope = new Float64Array(TRUE_PEAK_TAPS);
  let sumOfTaps = 1;
  let bend = 0;
  for (let p = 1; p < factor; p++) {
    const row = straightened(windowedSinc(p / factor), p / factor);
    rows.set(row, (p - 1) * TRUE_PEAK_TAPS);
    for (let k = 0; k < row.length; k++) envelope[k] = Math.max(envelope[k], Math.abs(row[k]));
    sumOfTaps = Math.max(sumOfTaps, sumOfMagnitudes(row));
    bend = Math.max(bend, sumOfMagnitudes(bendingTaps(row, p / factor)));
  }
  return { factor, rows, mirrored: mirroredRows(rows, factor), envelope, sumOfTaps, bend };
}

function mirroredRows(rows: Float64Array, factor: number): Float64Array {
  const mirrored = new Float64Array((factor / 2) * TRUE_PEAK_TAPS);
  for (let at = 0; at < mirrored.length; at += TRUE_PEAK_TAPS) {
    for (let k = 0; k < TRUE_PEAK_REACH; k++) {
      const opposite = rows[at + TRUE_PEAK_TAPS - 1 - k];
      mirrored[at + k] = (rows[at + k] + opposite) / 2;
      mirrored[at + TRUE_PEAK_REACH + k] = (rows[at + k] - opposite) / 2;
    }
  }
  return mirrored;
}

function windowedSinc(phase: number): Float64Array {
  return Float64Array.from({ length: TRUE_PEAK_TAPS }, (_, k) => {
    const t = k - (TRUE_PEAK_REACH - 1) - phase;
    const u = t / TRUE_PEAK_REACH;
    return (Math.sin(Math.PI * t) / (Math.PI * t)) * besselI0(BETA * Math.sqrt(Math.max(0, 1 - u * u)));
  });
}

/** Scaled to sum 1, then the two middle taps are moved against each other until the centre lies at the phase. */
function straightened(row: Float64Array, phase: number): Float64Array {
  const sum = row.reduce((total, tap) => total + tap, 0);
  const straight = row.map((tap) => tap / sum);
  const centre = straight.reduce((total, tap, k) => total + tap * (k - (TRUE_PEAK_REACH - 1)), 0);
  straight[TRUE_PEAK_REACH] += phase - centre;
  straight[TRUE_PEAK_REACH - 1] -= phase - centre;
  return straight;
}

/**
 * What the row adds to the straight line between its two middle samples, as weights of second differences: sum and centre
 * of (row - line) are zero, so summing it up twice ends in zero and gives those weights.
 */
function bendingTaps(row: Float64Array, phase: number): Float64Array {
  const rest = row.slice();
  rest[TRUE_PEAK_REACH - 1] -= 1 - phase;
  rest[TRUE_PEAK_REACH] -= phase;
  for (let twice = 0; twice < 2; twice++) for (let k = 1; k < rest.length; k++) rest[k] += rest[k - 1];
  return rest;
}

function sumOfMagnitudes(values: Float64Array): number {
  return values.reduce((sum, value) => sum + Math.abs(value), 0);
}

/** Modified Bessel function of the first kind, order 0, by its power series. */
function besselI0(x: number): number {
  const quarter = (x * x) / 4;
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-17; k++) sum += term *= quarter / (k * k);
  return sum;
}

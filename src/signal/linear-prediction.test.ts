// The predictor against what defines it: its residual is at right angles to what it was made from. And sound whose law is known.
import { describe, expect, it } from 'vitest';
import { fitPredictor, predictionResidual } from './linear-prediction.ts';
import { Random } from './random.ts';

/** Two resonances in noise: x[n] = sum of TAPS[k] x[n-1-k] + noise. */
const TAPS = [3.1, -4.2, 2.95, -0.9];

function resonant(frames: number, seed: number, spread = 100): Float64Array {
  const random = new Random(seed);
  const x = new Float64Array(frames);
  for (let n = 0; n < frames; n++) {
    let sum = spread * random.gaussian();
    for (let k = 0; k < TAPS.length && k < n; k++) sum += TAPS[k] * x[n - 1 - k];
    x[n] = sum;
  }
  return x.map(Math.round);
}

describe('a fitted predictor', () => {
  it.each([
    [4, [300]],
    [16, [1000, 777]],
    [32, [1018, 1017]],
    [32, [20, 500, 33, 32]],
  ])('of order %i over stretches of %j samples solves the normal equations', (order, lengths) => {
    const stretches = lengths.map((length, k) => resonant(length, k + 1));
    const predictor = fitPredictor(stretches, order);
    if (!predictor) throw new Error('no predictor');
    const equations = lengths.reduce((sum, length) => sum + Math.max(0, length - order), 0);
    for (let lag = 1; lag <= order; lag++) {
      let product = (-equations / 12) * predictor[lag - 1];
      let size = 0;
      for (const x of stretches) {
        const residual = predictionResidual(x, predictor, order, Math.max(order, x.length));
        for (const [i, e] of residual.entries()) {
          product += e * x[order + i - lag];
          size += Math.abs(e * x[order + i - lag]);
        }
      }
      // Doubles and a matrix whose conditions differ by some 10^4: far above rounding, far below any wrong product.
      expect(Math.abs(product) / size).toBeLessThan(1e-7);
    }
  });

  it('knows the law of the sound it was fitted to', () => {
    const predictor = fitPredictor([resonant(200_000, 9)], 4);
    // The error of a coefficient is about 1 / sqrt(frames).
    for (const [k, tap] of TAPS.entries()) expect(predictor?.[k]).toBeCloseTo(tap, 1.5);
  });

  it('needs four equations for each of its taps', () => {
    expect(fitPredictor([resonant(79, 1)], 16)).toBeUndefined();
    expect(fitPredictor([resonant(80, 1)], 16)).toBeDefined();
  });
});

describe('the residual', () => {
  it('is each sample without its prediction', () => {
    const x = resonant(50, 2);
    for (const [from, to] of [
      [4, 50],
      [7, 12],
      [9, 9],
    ]) {
      const residual = predictionResidual(x, Float64Array.from(TAPS), from, to);
      expect(residual).toHaveLength(to - from);
      for (const [i, e] of residual.entries()) {
        const predicted = TAPS.reduce((sum, tap, k) => sum + tap * x[from + i - 1 - k], 0);
        expect(e).toBeCloseTo(x[from + i] - predicted, 6);
      }
    }
  });
});

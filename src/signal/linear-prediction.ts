// Linear prediction by least squares (covariance method) on stretches of samples, and its residual: the scale on which
// "how surprising is this sample, given those before it" is measured. Not a codec.
// Method: J. Makhoul, "Linear prediction: a tutorial review", Proc. IEEE 63 (1975), section II.B.
import { productSums, solveSymmetric } from './simd/predictor-fit.ts';

/** x[n] is predicted as sum of a[k] * x[n-1-k]. */
export type Predictor = Float64Array;

/**
 * Fits one predictor of `order` to all stretches together. Each stretch needs more than `order` samples to count.
 * Returns undefined when there is too little material (fewer than 4 * order equations).
 */
export function fitPredictor(stretches: readonly Float64Array[], order: number): Predictor | undefined {
  const size = order + 1;
  let equations = 0;
  for (const x of stretches) equations += Math.max(0, x.length - order);
  if (equations < 4 * order) return undefined;
  const sums = productSums(stretches, order);
  // A quantising step of 1 has a noise power of 1/12: no predictor can know more than that, and it keeps the matrix regular.
  const ridge = equations / 12;
  const matrix = new Float64Array(order * order);
  const right = new Float64Array(order);
  for (let i = 0; i < order; i++) {
    right[i] = sums[i + 1];
    for (let j = 0; j < order; j++) {
      matrix[i * order + j] = i <= j ? sums[(i + 1) * size + j + 1] : sums[(j + 1) * size + i + 1];
    }
    matrix[i * order + i] += ridge;
  }
  return solveSymmetric(matrix, right, order);
}

/** Residual of x[from..to) in place order; frames before `order` cannot be predicted and must lie before `from`. */
export function predictionResidual(x: Float64Array, predictor: Predictor, from: number, to: number): Float64Array {
  const residual = new Float64Array(Math.max(0, to - from));
  let n = from;
  // Four at a time: each waits for itself only.
  for (; n + 4 <= to; n += 4) {
    let [a, b, c, d] = [x[n], x[n + 1], x[n + 2], x[n + 3]];
    for (let k = 0; k < predictor.length; k++) {
      const tap = predictor[k];
      a -= tap * x[n - 1 - k];
      b -= tap * x[n - k];
      c -= tap * x[n + 1 - k];
      d -= tap * x[n + 2 - k];
    }
    residual[n - from] = a;
    residual[n - from + 1] = b;
    residual[n - from + 2] = c;
    residual[n - from + 3] = d;
  }
  for (; n < to; n++) {
    let sum = x[n];
    for (let k = 0; k < predictor.length; k++) sum -= predictor[k] * x[n - 1 - k];
    residual[n - from] = sum;
  }
  return residual;
}

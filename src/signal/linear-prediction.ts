// Linear prediction by least squares (covariance method) on stretches of samples, and its residual: the scale on which
// "how surprising is this sample, given those before it" is measured. Not a codec.
// Method: J. Makhoul, "Linear prediction: a tutorial review", Proc. IEEE 63 (1975), section II.B.

/** x[n] is predicted as sum of a[k] * x[n-1-k]. */
export type Predictor = Float64Array;

/**
 * Fits one predictor of `order` to all stretches together. Each stretch needs more than `order` samples to count.
 * Returns undefined when there is too little material (fewer than 4 * order equations).
 */
export function fitPredictor(stretches: readonly Float64Array[], order: number): Predictor | undefined {
  const size = order + 1;
  const sums = new Float64Array(size * size);
  let equations = 0;
  for (const x of stretches) {
    for (let n = order; n < x.length; n++) {
      equations++;
      for (let i = 0; i <= order; i++) {
        const xi = x[n - i];
        for (let j = i; j <= order; j++) sums[i * size + j] += xi * x[n - j];
      }
    }
  }
  if (equations < 4 * order) return undefined;
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
  for (let n = from; n < to; n++) {
    let sum = x[n];
    for (let k = 0; k < predictor.length; k++) sum -= predictor[k] * x[n - 1 - k];
    residual[n - from] = sum;
  }
  return residual;
}

/** Cholesky for a symmetric positive definite matrix; undefined when it is not. */
function solveSymmetric(matrix: Float64Array, right: Float64Array, n: number): Float64Array | undefined {
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j];
      for (let k = 0; k < j; k++) sum -= l[i * n + k] * l[j * n + k];
      if (i === j) {
        if (!(sum > 0)) return undefined;
        l[i * n + i] = Math.sqrt(sum);
      } else l[i * n + j] = sum / l[j * n + j];
    }
  }
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let sum = right[i];
    for (let k = 0; k < i; k++) sum -= l[i * n + k] * y[k];
    y[i] = sum / l[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) y[i] -= l[k * n + i] * y[k];
    y[i] /= l[i * n + i];
  }
  return y;
}

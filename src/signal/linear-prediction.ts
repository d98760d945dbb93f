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
    if (x.length <= order) continue;
    equations += x.length - order;
    addProducts(x, order, sums);
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

/**
 * Adds sum x[n - i] * x[n - j] over n = order .. x.length - 1 to sums[i * (order + 1) + j], i <= j. Only i = 0 is summed up: from one
 * diagonal place to the next the sum gains one product at its beginning and loses one at its end.
 */
function addProducts(x: Float64Array, order: number, sums: Float64Array): void {
  const size = order + 1;
  const last = x.length - 1;
  for (let lag = 0; lag <= order; lag++) {
    let sum = laggedProduct(x, order, lag);
    sums[lag] += sum;
    for (let i = 1, j = lag + 1; j <= order; i++, j++) {
      sum += x[order - i] * x[order - j] - x[last + 1 - i] * x[last + 1 - j];
      sums[i * size + j] += sum;
    }
  }
}

/** Sum of x[n] * x[n - lag] over n >= from. Four sums, so that no addition waits for the one before. */
function laggedProduct(x: Float64Array, from: number, lag: number): number {
  let [a, b, c, d] = [0, 0, 0, 0];
  let n = from;
  for (; n + 4 <= x.length; n += 4) {
    a += x[n] * x[n - lag];
    b += x[n + 1] * x[n + 1 - lag];
    c += x[n + 2] * x[n + 2 - lag];
    d += x[n + 3] * x[n + 3 - lag];
  }
  for (; n < x.length; n++) a += x[n] * x[n - lag];
  return a + b + (c + d);
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

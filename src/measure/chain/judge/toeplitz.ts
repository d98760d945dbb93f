// Solves symmetric Toeplitz systems (each row of the matrix is the one above moved by one) in n^2 steps. Not for other matrices.
// Levinson's recursion (N. Levinson 1947; G. Golub, C. Van Loan, Matrix Computations, section 4.7; certainty M).

/** x of T x = right, where T[j][k] = column[|j - k|] and T is positive definite. */
export function solveToeplitz(column: Float64Array, right: Float64Array): Float64Array {
  const size = right.length;
  const x = new Float64Array(size);
  let back = new Float64Array(size);
  let next = new Float64Array(size);
  let error = column[0];
  x[0] = right[0] / error;
  for (let m = 1; m < size; m++) {
    // back[0..m-2]: predictor of order m - 1
    let sum = column[m];
    for (let j = 0; j < m - 1; j++) sum += back[j] * column[m - 1 - j];
    const k = -sum / error;
    for (let j = 0; j < m - 1; j++) next[j] = back[j] + k * back[m - 2 - j];
    next[m - 1] = k;
    [back, next] = [next, back];
    error *= 1 - k * k;
    let miss = right[m];
    for (let j = 0; j < m; j++) miss -= x[j] * column[m - j];
    const step = miss / error;
    for (let j = 0; j < m; j++) x[j] += step * back[m - 1 - j];
    x[m] = step;
  }
  return x;
}

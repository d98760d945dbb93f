// The two dear parts of fitting a linear prediction: the sums of products of all pairs of lags, and the equations they make. Kernels and plain twins,
// equal to the last bit. Not for what the sums are of (../linear-prediction.ts).
import { type Machine, usualMachine } from './machine.ts';

/** Values of one stretch, and lags, that the kernels' memory has room for. */
const MOST_VALUES = 32_768;
const MOST_ORDER = 64;

/**
 * Sum of x[n - i] * x[n - j] over n = order .. x.length - 1 of all stretches, i <= j <= order, at [i * (order + 1) + j]. Stretches of at most `order`
 * values add nothing.
 */
export function productSums(stretches: readonly Float64Array[], order: number): Float64Array {
  const size = order + 1;
  if (order > MOST_ORDER || stretches.some((x) => x.length > MOST_VALUES)) return plainProductSums(stretches, order);
  const { kernels, at, reals } = usualMachine();
  const sums = at.second / 8;
  reals.fill(0, sums, sums + size * size);
  for (const x of stretches) {
    if (x.length <= order) continue;
    reals.set(x, at.plane / 8);
    kernels.addProducts(at.plane, x.length, order, at.second);
  }
  return reals.slice(sums, sums + size * size);
}

/** Cholesky for a symmetric positive definite matrix of `n` rows; undefined when it is not. Only its upper half is looked at. */
export function solveSymmetric(matrix: Float64Array, right: Float64Array, n: number): Float64Array | undefined {
  if (n > MOST_ORDER) return plainSolveSymmetric(matrix, right, n);
  const it = usualMachine();
  const { at, reals } = it;
  const stride = n + (n % 2);
  layRows(it, matrix, n, stride);
  reals.set(right, at.second / 8);
  if (it.kernels.solveSymmetric(at.plane, at.second, n, 8 * stride) === 0) return undefined;
  return reals.slice(at.second / 8, at.second / 8 + n);
}

function layRows({ at, reals }: Machine, matrix: Float64Array, n: number, stride: number): void {
  const first = at.plane / 8;
  if (stride === n) reals.set(matrix, first);
  else for (let i = 0; i < n; i++) reals.set(matrix.subarray(i * n, (i + 1) * n), first + i * stride);
}

/** The plain twin of `productSums`. */
export function plainProductSums(stretches: readonly Float64Array[], order: number): Float64Array {
  const sums = new Float64Array((order + 1) ** 2);
  for (const x of stretches) if (x.length > order) addProducts(x, order, sums);
  return sums;
}

/** Only i = 0 is summed up: from one diagonal place to the next the sum gains one product at its beginning and loses one at its end. */
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

/** The plain twin of `solveSymmetric`. */
export function plainSolveSymmetric(matrix: Float64Array, right: Float64Array, n: number): Float64Array | undefined {
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[j * n + i];
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

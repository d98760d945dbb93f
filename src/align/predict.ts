// What of one recording cannot be had from the other through any short filter: least squares over several windows.
// Kernel in float64; knows nothing of places or kinds of copies.

/** x and y aligned: y[n] is to be told from x[n .. n + taps - 1]; x is longer by taps - 1. */
export interface FilterWindow {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

export interface FilterFit {
  readonly taps: Float64Array;
  /** constant difference */
  readonly offset: number;
  /** root mean square of what is left, per window */
  readonly residuals: readonly number[];
}

/** Relative loading of the diagonal: keeps empty bands from blowing up the filter. */
const LOADING = 1e-10;

export function fitFilter(windows: readonly FilterWindow[], taps: number): FilterFit {
  const size = taps + 1;
  const normal = new Float64Array(size * size);
  const right = new Float64Array(size);
  for (const window of windows) accumulate(window, taps, normal, right);
  for (let i = 0; i < taps; i++) normal[i * size + i] *= 1 + LOADING;
  const solution = solve(normal, right, size);
  const fir = solution.slice(0, taps);
  const offset = solution[taps];
  return { taps: fir, offset, residuals: windows.map((window) => residual(window, fir, offset)) };
}

/** Sums of products: the first row by lags is extended along the diagonals, as the window slides by one sample. */
function accumulate({ x, y }: FilterWindow, taps: number, normal: Float64Array, right: Float64Array): void {
  const size = taps + 1;
  const frames = y.length;
  for (let lag = 0; lag < taps; lag++) {
    let sum = 0;
    for (let n = 0; n < frames; n++) sum += x[n] * x[n + lag];
    for (let i = 0; i + lag < taps; i++) {
      normal[i * size + i + lag] += sum;
      if (lag > 0) normal[(i + lag) * size + i] += sum;
      sum += x[i + frames] * x[i + lag + frames] - x[i] * x[i + lag];
    }
  }
  for (let i = 0; i < taps; i++) {
    let cross = 0;
    let plain = 0;
    for (let n = 0; n < frames; n++) {
      cross += x[n + i] * y[n];
      plain += x[n + i];
    }
    right[i] += cross;
    normal[i * size + taps] += plain;
    normal[taps * size + i] += plain;
  }
  normal[taps * size + taps] += frames;
  right[taps] += y.reduce((sum, v) => sum + v, 0);
}

/** Cholesky; pivots that vanish (a direction without any signal) give no contribution. */
function solve(a: Float64Array, b: Float64Array, size: number): Float64Array {
  const l = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i * size + j];
      for (let k = 0; k < j; k++) sum -= l[i * size + k] * l[j * size + k];
      if (i === j) l[i * size + i] = sum > a[i * size + i] * 1e-14 ? Math.sqrt(sum) : 0;
      else l[i * size + j] = l[j * size + j] > 0 ? sum / l[j * size + j] : 0;
    }
  }
  const z = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    let sum = b[i];
    for (let k = 0; k < i; k++) sum -= l[i * size + k] * z[k];
    z[i] = l[i * size + i] > 0 ? sum / l[i * size + i] : 0;
  }
  for (let i = size - 1; i >= 0; i--) {
    let sum = z[i];
    for (let k = i + 1; k < size; k++) sum -= l[k * size + i] * z[k];
    z[i] = l[i * size + i] > 0 ? sum / l[i * size + i] : 0;
  }
  return z;
}

function residual({ x, y }: FilterWindow, fir: Float64Array, offset: number): number {
  let square = 0;
  for (let n = 0; n < y.length; n++) {
    let sum = offset - y[n];
    for (let k = 0; k < fir.length; k++) sum += fir[k] * x[n + k];
    square += sum * sum;
  }
  return Math.sqrt(square / Math.max(1, y.length));
}

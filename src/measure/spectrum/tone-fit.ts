// Sines of known frequency taken out of samples by least squares: amplitude and phase of each, the mean, and what is left.
// The frequencies must be further apart than the inverse of the stretch. Not for finding frequencies.

export interface ToneFit {
  readonly mean: number;
  /** peak amplitude of each tone */
  readonly amplitudes: Float64Array;
  /** of a sine, at the first sample, radians */
  readonly phases: Float64Array;
  /** the samples without mean and tones */
  readonly residual: Float64Array;
  /** of the residual, per sample */
  readonly variance: number;
}

/** `turns`: cycles per sample of each tone, between 0 and 0.5. */
export function fitTones(samples: Float64Array, turns: readonly number[]): ToneFit {
  const n = samples.length;
  const columns = 2 * turns.length + 1;
  const basis = Array.from({ length: columns }, () => new Float64Array(n));
  basis[0].fill(1);
  for (const [k, turn] of turns.entries()) rotate(turn, basis[2 * k + 1], basis[2 * k + 2]);
  const solved = solve(
    normalMatrix(basis),
    Float64Array.from(basis, (column) => dot(column, samples)),
  );
  const residual = samples.slice();
  for (let j = 0; j < columns; j++) {
    const weight = solved[j];
    const column = basis[j];
    for (let i = 0; i < n; i++) residual[i] -= weight * column[i];
  }
  const amplitudes = new Float64Array(turns.length);
  const phases = new Float64Array(turns.length);
  for (let k = 0; k < turns.length; k++) {
    const [c, s] = [solved[2 * k + 1], solved[2 * k + 2]];
    amplitudes[k] = Math.sqrt(c * c + s * s);
    phases[k] = Math.atan2(c, s);
  }
  return {
    mean: solved[0],
    amplitudes,
    phases,
    residual,
    variance: dot(residual, residual) / Math.max(1, n - columns),
  };
}

/** Cosine and sine of 2 pi turn n by rotation, set right every 512 samples. */
function rotate(turn: number, cosine: Float64Array, sine: Float64Array): void {
  const stepC = Math.cos(2 * Math.PI * turn);
  const stepS = Math.sin(2 * Math.PI * turn);
  let c = 1;
  let s = 0;
  for (let n = 0; n < cosine.length; n++) {
    if (n % 512 === 0) {
      const angle = 2 * Math.PI * ((turn * n) % 1);
      c = Math.cos(angle);
      s = Math.sin(angle);
    }
    cosine[n] = c;
    sine[n] = s;
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
  }
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < a.length; n++) sum += a[n] * b[n];
  return sum;
}

function normalMatrix(basis: readonly Float64Array[]): Float64Array[] {
  const matrix = basis.map(() => new Float64Array(basis.length));
  for (let i = 0; i < basis.length; i++) {
    for (let j = 0; j <= i; j++) matrix[i][j] = matrix[j][i] = dot(basis[i], basis[j]);
  }
  return matrix;
}

/** Gauss with pivots; the matrix of nearly orthogonal sines is well conditioned. A pivot of nothing leaves its unknown at 0. */
function solve(matrix: Float64Array[], right: Float64Array): Float64Array {
  const n = right.length;
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(matrix[i][k]) > Math.abs(matrix[best][k])) best = i;
    [matrix[k], matrix[best]] = [matrix[best], matrix[k]];
    [right[k], right[best]] = [right[best], right[k]];
    if (Math.abs(matrix[k][k]) < 1e-9) continue;
    for (let i = k + 1; i < n; i++) {
      const factor = matrix[i][k] / matrix[k][k];
      for (let j = k; j < n; j++) matrix[i][j] -= factor * matrix[k][j];
      right[i] -= factor * right[k];
    }
  }
  const x = new Float64Array(n);
  for (let i = n - 1; i >= 0; i--) {
    let sum = right[i];
    for (let j = i + 1; j < n; j++) sum -= matrix[i][j] * x[j];
    x[i] = Math.abs(matrix[i][i]) < 1e-9 ? 0 : sum / matrix[i][i];
  }
  return x;
}

// Truth: the product of the matrix with the solution, computed term by term. Tolerance: rounding of doubles times the condition of the system, which is small here.
import { expect, it } from 'vitest';
import { Random } from '../../../signal/index.ts';
import { solveToeplitz } from './toeplitz.ts';

it.each([1, 2, 3, 64, 257])('solves a system of %i rows', (size) => {
  const random = new Random(size);
  // an autocorrelation that falls off: positive definite
  const column = Float64Array.from({ length: size }, (_, k) => (k === 0 ? 3 : (0.6 ** k * (k % 3 ? 1 : -1)) / 2));
  const right = Float64Array.from({ length: size }, () => random.gaussian());
  const x = solveToeplitz(column, right);
  for (let j = 0; j < size; j++) {
    let sum = 0;
    for (let k = 0; k < size; k++) sum += column[Math.abs(j - k)] * x[k];
    expect(sum).toBeCloseTo(right[j], 10);
  }
});

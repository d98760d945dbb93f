// The kernels of a linear prediction against their plain twins, bit for bit.
import { describe, expect, it } from 'vitest';
import { Random } from '../random.ts';
import { plainProductSums, plainSolveSymmetric, productSums, solveSymmetric } from './predictor-fit.ts';

function noise(length: number, seed: number, size = 1000): Float64Array {
  const random = new Random(seed);
  return Float64Array.from({ length }, () => (random.uniform() - 0.5) * size);
}

/** Of vectors with themselves, as a fit makes it: `n` rows. */
function matrixOf(n: number, seed: number): Float64Array {
  const sums = plainProductSums([noise(5 * n + 40, seed)], n - 1);
  return Float64Array.from({ length: n * n }, (_, k) => {
    const [i, j] = [Math.floor(k / n), k % n];
    return i <= j ? sums[k] : sums[j * n + i];
  });
}

describe('kernels of a prediction equal their plain twins', () => {
  it.each([1, 2, 3, 4, 7, 16, 31, 32, 64, 65])('of order %i', (order) => {
    for (const lengths of [[order], [order + 1], [order + 2, 4 * order + 3], [321], [2048, 0, 1021, 5 * order]]) {
      const stretches = lengths.map((length, k) => noise(length, order + k));
      expect(productSums(stretches, order)).toEqual(plainProductSums(stretches, order));
    }
    const matrix = matrixOf(order, order);
    const right = noise(order, 3);
    expect(solveSymmetric(matrix, right, order)).toEqual(plainSolveSymmetric(matrix, right, order));
  });

  it('with more values than there is room for', () => {
    const long = noise(32_769, 1);
    expect(productSums([long], 8)).toEqual(plainProductSums([long], 8));
    expect(productSums([long.subarray(1)], 8)).toEqual(plainProductSums([long.subarray(1)], 8));
  });

  it('where there is no solution', () => {
    const matrix = Float64Array.from([1, 2, 2, 1]);
    expect(solveSymmetric(matrix, noise(2, 1), 2)).toBeUndefined();
    expect(plainSolveSymmetric(matrix, noise(2, 1), 2)).toBeUndefined();
    expect(solveSymmetric(new Float64Array(9), noise(3, 1), 3)).toBeUndefined();
  });
});

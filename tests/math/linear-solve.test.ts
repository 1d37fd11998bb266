import { describe, expect, it } from 'vitest';
import { complexLuFactor, complexLuSolve, luFactor, luSolve, SeededRandom } from '../../dsp/math/index.ts';

const random = new SeededRandom(20261125);
const filled = (length: number): Float64Array => Float64Array.from({ length }, () => random.nextGaussian());

describe('real linear systems', () => {
  it.each([1, 2, 3, 8, 30])('size %i: residual at rounding level, one column of a row-major block at a time', (size) => {
    const matrix = filled(size * size);
    const columns = 3;
    const block = filled(size * columns);
    const factors = matrix.slice();
    const pivots = new Int32Array(size);
    expect(luFactor(factors, size, pivots)).toBe(true);
    const solution = block.slice();
    luSolve(factors, size, pivots, solution, 1, columns);
    for (let row = 0; row < size; row++) {
      expect(solution[row * columns]).toBe(block[row * columns]);
      expect(solution[row * columns + 2]).toBe(block[row * columns + 2]);
      let residual = -block[row * columns + 1]!;
      let scale = Math.abs(residual);
      for (let column = 0; column < size; column++) {
        const term = matrix[row * size + column]! * solution[column * columns + 1]!;
        residual += term;
        scale += Math.abs(term);
      }
      // Backward error of elimination with partial pivoting: a few size · 2^−53.
      expect(Math.abs(residual) <= 4 * size * 1.2e-16 * scale * 10, `row ${row}: ${residual}`).toBe(true);
    }
  });

  it('needs pivoting and gets it; takes the lower row on a tie', () => {
    const pivots = new Int32Array(2);
    const matrix = Float64Array.of(0, 1, 2, 3);
    const rhs = Float64Array.of(4, 5);
    expect(luFactor(matrix, 2, pivots)).toBe(true);
    luSolve(matrix, 2, pivots, rhs);
    expect([...rhs]).toEqual([-3.5, 4]);
    expect(luFactor(Float64Array.of(1, 2, -1, 5), 2, pivots)).toBe(true);
    expect([...pivots]).toEqual([0, 1]);
  });

  it('says so when singular or not finite', () => {
    const pivots = new Int32Array(2);
    expect(luFactor(Float64Array.of(1, 2, 2, 4), 2, pivots)).toBe(false);
    expect(luFactor(Float64Array.of(NaN, NaN, NaN, 1), 2, pivots)).toBe(false);
    expect(luFactor(Float64Array.of(Infinity, 1, 1, 1), 2, pivots)).toBe(false);
  });
});

describe('complex linear systems', () => {
  it.each([1, 2, 5, 20])('size %i: equals the real system of twice the size', (size) => {
    const re = filled(size * size);
    const im = filled(size * size);
    const rhsRe = filled(size);
    const rhsIm = filled(size);
    const real = new Float64Array(4 * size * size);
    for (let row = 0; row < size; row++) {
      for (let column = 0; column < size; column++) {
        real[2 * row * size + column] = re[row * size + column]!;
        real[2 * row * size + size + column] = -im[row * size + column]!;
        real[2 * (size + row) * size + column] = im[row * size + column]!;
        real[2 * (size + row) * size + size + column] = re[row * size + column]!;
      }
    }
    const both = Float64Array.from([...rhsRe, ...rhsIm]);
    const realPivots = new Int32Array(2 * size);
    expect(luFactor(real, 2 * size, realPivots)).toBe(true);
    luSolve(real, 2 * size, realPivots, both);
    const pivots = new Int32Array(size);
    expect(complexLuFactor(re, im, size, pivots)).toBe(true);
    complexLuSolve(re, im, size, pivots, rhsRe, rhsIm);
    const largest = Math.max(...both.map(Math.abs));
    for (let i = 0; i < size; i++) {
      // Two eliminations of a random matrix differ by its condition (below 1e4 here) times 2^−53.
      expect(Math.abs(rhsRe[i]! - both[i]!) <= 1e-11 * largest).toBe(true);
      expect(Math.abs(rhsIm[i]! - both[size + i]!) <= 1e-11 * largest).toBe(true);
    }
  });

  it('honours offset and stride, and divides without overflow', () => {
    const pivots = new Int32Array(1);
    const re = Float64Array.of(3e200);
    const im = Float64Array.of(4e200);
    const rhsRe = Float64Array.of(7, 25e200, 8);
    const rhsIm = Float64Array.of(9, 0, 10);
    expect(complexLuFactor(re, im, 1, pivots)).toBe(true);
    complexLuSolve(re, im, 1, pivots, rhsRe, rhsIm, 1, 3);
    expect(rhsRe[1]).toBeCloseTo(3, 14);
    expect(rhsIm[1]).toBeCloseTo(-4, 14);
    expect([rhsRe[0], rhsRe[2], rhsIm[0], rhsIm[2]]).toEqual([7, 8, 9, 10]);
  });

  it('says so when singular', () => {
    // The second row is i times the first.
    expect(complexLuFactor(Float64Array.of(1, 2, 0, 0), Float64Array.of(0, 0, 1, 2), 2, new Int32Array(2))).toBe(false);
  });
});

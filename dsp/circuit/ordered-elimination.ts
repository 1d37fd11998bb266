/**
 * Gaussian elimination in the order the rows already stand in, two rows and columns at a time: what the sample loop does, where every operation and
 * its order are fixed. (`dsp/math` has the one with exchanges, for everything off the audio thread.) A pair of pivots is solved by its determinant,
 * whose one division waits for nothing but two products: half the time from row to solution that single pivots need, one division after the other.
 * Audio thread: allocates nothing, never throws.
 */

/** A determinant (a last pivot) smaller than this part of its rows' (row's) magnitudes summed counts as 0. */
export const leastPivotShare = 1e-12;

/**
 * Factors `matrix` (size × size, row by row) in place. Pairs of rows k, k + 1 (k even) keep their pivots [a b; c d], and what is right of them, as
 * they are when their turn comes; 1/(a d − b c) goes into `inverses[k / 2]`, of a last single pivot its reciprocal. Below a pair, row [p q] becomes
 * its multipliers, ((p d − q c)/det, (q a − p b)/det). Every entry loses its products by ascending column. `rowSums`: magnitudes of each row, summed.
 * False, with the factors of no use, if a pivot counts as 0.
 */
export function factorInPairs(matrix: Float64Array, inverses: Float64Array, size: number, rowSums: Float64Array): boolean {
  let usable = true;
  let k = 0;
  for (; k + 1 < size; k += 2) {
    const first = k * size;
    const second = first + size;
    const a = matrix[first + k]!;
    const b = matrix[first + k + 1]!;
    const c = matrix[second + k]!;
    const d = matrix[second + k + 1]!;
    const determinant = a * d - b * c;
    if (!(Math.abs(determinant) >= leastPivotShare * (rowSums[k]! * rowSums[k + 1]!))) usable = false;
    const inverse = 1 / determinant;
    inverses[k >> 1] = inverse;
    for (let row = second + size; row < size * size; row += size) {
      const p = matrix[row + k]!;
      const q = matrix[row + k + 1]!;
      const byFirst = (p * d - q * c) * inverse;
      const bySecond = (q * a - p * b) * inverse;
      matrix[row + k] = byFirst;
      matrix[row + k + 1] = bySecond;
      for (let column = k + 2; column < size; column += 1) {
        matrix[row + column] = matrix[row + column]! - byFirst * matrix[first + column]! - bySecond * matrix[second + column]!;
      }
    }
  }
  if (k < size) {
    const pivot = matrix[k * size + k]!;
    if (!(Math.abs(pivot) >= leastPivotShare * rowSums[k]!)) usable = false;
    inverses[k >> 1] = 1 / pivot;
  }
  return usable;
}

/** Solves in place of `rightSide` with the factors of `factorInPairs`; products by ascending column. */
export function solveInPairs(factors: Float64Array, inverses: Float64Array, size: number, rightSide: Float64Array): void {
  for (let k = 2; k < size; k += 1) {
    const at = k * size;
    let sum = rightSide[k]!;
    for (let c = 0; c < k - (k & 1); c += 1) sum -= factors[at + c]! * rightSide[c]!;
    rightSide[k] = sum;
  }
  let k = size - 1;
  if ((size & 1) === 1) {
    rightSide[k] = rightSide[k]! * inverses[k >> 1]!;
    k -= 1;
  }
  for (k -= 1; k >= 0; k -= 2) {
    const first = k * size;
    const second = first + size;
    let upper = rightSide[k]!;
    let lower = rightSide[k + 1]!;
    for (let c = k + 2; c < size; c += 1) {
      upper -= factors[first + c]! * rightSide[c]!;
      lower -= factors[second + c]! * rightSide[c]!;
    }
    const inverse = inverses[k >> 1]!;
    rightSide[k] = (upper * factors[second + k + 1]! - lower * factors[first + k + 1]!) * inverse;
    rightSide[k + 1] = (lower * factors[first + k]! - upper * factors[second + k]!) * inverse;
  }
}

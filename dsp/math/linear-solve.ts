// Small dense linear systems: factor once, solve many right sides.

/**
 * Factors a square matrix in place: P A = L U with partial pivoting (largest magnitude; ties to the lower row).
 *
 * `matrix` is size × size, row by row; after the call it holds U on and above the diagonal, L (unit diagonal) below.
 * `pivots[k]` is the row exchanged with row k in step k. Returns false, with the factors unusable, when a pivot is zero
 * or not finite. Order of operations is fixed; allocates nothing.
 * Source: G. H. Golub, C. F. Van Loan, Matrix Computations, §3.4 (outer product form), from memory.
 */
export function luFactor(matrix: Float64Array, size: number, pivots: Int32Array): boolean {
  for (let k = 0; k < size; k++) {
    let pivotRow = k;
    let largest = Math.abs(matrix[k * size + k]!);
    for (let row = k + 1; row < size; row++) {
      const candidate = Math.abs(matrix[row * size + k]!);
      if (candidate > largest) {
        largest = candidate;
        pivotRow = row;
      }
    }
    if (!(largest > 0 && largest < Infinity)) return false;
    pivots[k] = pivotRow;
    if (pivotRow !== k) exchangeRows(matrix, size, k, pivotRow);
    const pivot = matrix[k * size + k]!;
    for (let row = k + 1; row < size; row++) {
      const at = row * size;
      const factor = matrix[at + k]! / pivot;
      matrix[at + k] = factor;
      if (factor === 0) continue;
      for (let column = k + 1; column < size; column++) {
        matrix[at + column] = matrix[at + column]! - factor * matrix[k * size + column]!;
      }
    }
  }
  return true;
}

function exchangeRows(matrix: Float64Array, size: number, first: number, second: number): void {
  for (let column = 0; column < size; column++) {
    const kept = matrix[first * size + column]!;
    matrix[first * size + column] = matrix[second * size + column]!;
    matrix[second * size + column] = kept;
  }
}

/**
 * Solves A x = b in place of b with the factors of `luFactor`. Entry i of b is `rhs[offset + i · stride]`, so that one
 * column of a row-major matrix is solved with offset = column, stride = number of columns. Allocates nothing.
 */
export function luSolve(matrix: Float64Array, size: number, pivots: Int32Array, rhs: Float64Array, offset = 0, stride = 1): void {
  for (let k = 0; k < size; k++) {
    const other = pivots[k]!;
    if (other === k) continue;
    const kept = rhs[offset + k * stride]!;
    rhs[offset + k * stride] = rhs[offset + other * stride]!;
    rhs[offset + other * stride] = kept;
  }
  for (let row = 1; row < size; row++) {
    let sum = rhs[offset + row * stride]!;
    for (let column = 0; column < row; column++) sum -= matrix[row * size + column]! * rhs[offset + column * stride]!;
    rhs[offset + row * stride] = sum;
  }
  for (let row = size - 1; row >= 0; row--) {
    let sum = rhs[offset + row * stride]!;
    for (let column = row + 1; column < size; column++) sum -= matrix[row * size + column]! * rhs[offset + column * stride]!;
    rhs[offset + row * stride] = sum / matrix[row * size + row]!;
  }
}

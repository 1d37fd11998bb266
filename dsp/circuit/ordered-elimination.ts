/**
 * Gaussian elimination in the order the rows already stand in: what the sample loop does, where every operation and its order are fixed.
 * (`dsp/math` has the one with exchanges, for everything off the audio thread.) Audio thread: allocates nothing, never throws.
 */

/**
 * Factors `matrix` (size × size, row by row) in place: L with unit diagonal below, U above, reciprocal pivots on the diagonal. Every entry loses
 * its products by ascending pivot; two pivots are taken per pass over the rows only to touch memory half as often. False, with the factors of no
 * use, if |pivot k| is not at least `floors[k]`.
 */
export function factorInOrder(matrix: Float64Array, size: number, floors: Float64Array): boolean {
  switch (size) {
    case 2:
      return factorTwo(matrix, floors);
    case 3:
      return factorThree(matrix, floors);
    case 4:
      return factorFour(matrix, floors);
    default:
      return factorAny(matrix, size, floors);
  }
}

/** Solves in place of `rightSide` with the factors of `factorInOrder`; products by ascending column. */
export function solveInOrder(factors: Float64Array, size: number, rightSide: Float64Array): void {
  switch (size) {
    case 2:
      solveTwo(factors, rightSide);
      return;
    case 3:
      solveThree(factors, rightSide);
      return;
    case 4:
      solveFour(factors, rightSide);
      return;
    default:
      solveAny(factors, size, rightSide);
  }
}

export function factorAny(matrix: Float64Array, size: number, floors: Float64Array): boolean {
  const end = size * size;
  let k = 0;
  for (; k + 1 < size; k += 2) {
    const first = k * size;
    const second = first + size;
    const pivot = matrix[first + k]!;
    const inverse = 1 / pivot;
    const across = matrix[first + k + 1]!;
    const multiplier = matrix[second + k]! * inverse;
    const nextPivot = matrix[second + k + 1]! - multiplier * across;
    if (!(Math.abs(pivot) >= floors[k]! && Math.abs(nextPivot) >= floors[k + 1]!)) return false;
    const nextInverse = 1 / nextPivot;
    matrix[first + k] = inverse;
    matrix[second + k] = multiplier;
    matrix[second + k + 1] = nextInverse;
    for (let c = k + 2; c < size; c += 1) matrix[second + c] = matrix[second + c]! - multiplier * matrix[first + c]!;
    for (let row = second + size; row < end; row += size) {
      const a = matrix[row + k]! * inverse;
      const b = (matrix[row + k + 1]! - a * across) * nextInverse;
      matrix[row + k] = a;
      matrix[row + k + 1] = b;
      for (let c = k + 2; c < size; c += 1) matrix[row + c] = matrix[row + c]! - a * matrix[first + c]! - b * matrix[second + c]!;
    }
  }
  if (k < size) {
    const pivot = matrix[end - 1]!;
    if (!(Math.abs(pivot) >= floors[k]!)) return false;
    matrix[end - 1] = 1 / pivot;
  }
  return true;
}

export function solveAny(factors: Float64Array, size: number, rightSide: Float64Array): void {
  for (let k = 1; k < size; k += 1) {
    const at = k * size;
    let sum = rightSide[k]!;
    for (let c = 0; c < k; c += 1) sum -= factors[at + c]! * rightSide[c]!;
    rightSide[k] = sum;
  }
  for (let k = size - 1; k >= 0; k -= 1) {
    const at = k * size;
    let sum = rightSide[k]!;
    for (let c = k + 1; c < size; c += 1) sum -= factors[at + c]! * rightSide[c]!;
    rightSide[k] = sum * factors[at + k]!;
  }
}

// `factorAny` and `solveAny` written out for two, three and four rows (a transistor, a pair with tied bases, a pair): the same operations in the
// same order, three times as fast.

function factorTwo(a: Float64Array, floors: Float64Array): boolean {
  const p0 = a[0]!;
  const i0 = 1 / p0;
  const l10 = a[2]! * i0;
  const p1 = a[3]! - l10 * a[1]!;
  a[0] = i0;
  a[2] = l10;
  a[3] = 1 / p1;
  return Math.abs(p0) >= floors[0]! && Math.abs(p1) >= floors[1]!;
}

function solveTwo(a: Float64Array, x: Float64Array): void {
  const f0 = x[0]!;
  const x1 = (x[1]! - a[2]! * f0) * a[3]!;
  x[0] = (f0 - a[1]! * x1) * a[0]!;
  x[1] = x1;
}

function factorThree(a: Float64Array, floors: Float64Array): boolean {
  const u01 = a[1]!;
  const u02 = a[2]!;
  const p0 = a[0]!;
  const i0 = 1 / p0;
  const l10 = a[3]! * i0;
  const l20 = a[6]! * i0;
  const p1 = a[4]! - l10 * u01;
  const i1 = 1 / p1;
  const u12 = a[5]! - l10 * u02;
  const l21 = (a[7]! - l20 * u01) * i1;
  const p2 = a[8]! - l20 * u02 - l21 * u12;
  a[0] = i0;
  a[3] = l10;
  a[4] = i1;
  a[5] = u12;
  a[6] = l20;
  a[7] = l21;
  a[8] = 1 / p2;
  return Math.abs(p0) >= floors[0]! && Math.abs(p1) >= floors[1]! && Math.abs(p2) >= floors[2]!;
}

function solveThree(a: Float64Array, x: Float64Array): void {
  const f0 = x[0]!;
  const f1 = x[1]! - a[3]! * f0;
  const x2 = (x[2]! - a[6]! * f0 - a[7]! * f1) * a[8]!;
  const x1 = (f1 - a[5]! * x2) * a[4]!;
  x[0] = (f0 - a[1]! * x1 - a[2]! * x2) * a[0]!;
  x[1] = x1;
  x[2] = x2;
}

function factorFour(a: Float64Array, floors: Float64Array): boolean {
  const u01 = a[1]!;
  const u02 = a[2]!;
  const u03 = a[3]!;
  const p0 = a[0]!;
  const i0 = 1 / p0;
  const l10 = a[4]! * i0;
  const l20 = a[8]! * i0;
  const l30 = a[12]! * i0;
  const p1 = a[5]! - l10 * u01;
  const i1 = 1 / p1;
  const u12 = a[6]! - l10 * u02;
  const u13 = a[7]! - l10 * u03;
  const l21 = (a[9]! - l20 * u01) * i1;
  const l31 = (a[13]! - l30 * u01) * i1;
  const p2 = a[10]! - l20 * u02 - l21 * u12;
  const i2 = 1 / p2;
  const u23 = a[11]! - l20 * u03 - l21 * u13;
  const l32 = (a[14]! - l30 * u02 - l31 * u12) * i2;
  const p3 = a[15]! - l30 * u03 - l31 * u13 - l32 * u23;
  a[0] = i0;
  a[4] = l10;
  a[5] = i1;
  a[6] = u12;
  a[7] = u13;
  a[8] = l20;
  a[9] = l21;
  a[10] = i2;
  a[11] = u23;
  a[12] = l30;
  a[13] = l31;
  a[14] = l32;
  a[15] = 1 / p3;
  return Math.abs(p0) >= floors[0]! && Math.abs(p1) >= floors[1]! && Math.abs(p2) >= floors[2]! && Math.abs(p3) >= floors[3]!;
}

function solveFour(a: Float64Array, x: Float64Array): void {
  const f0 = x[0]!;
  const f1 = x[1]! - a[4]! * f0;
  const f2 = x[2]! - a[8]! * f0 - a[9]! * f1;
  const f3 = x[3]! - a[12]! * f0 - a[13]! * f1 - a[14]! * f2;
  const x3 = f3 * a[15]!;
  const x2 = (f2 - a[11]! * x3) * a[10]!;
  const x1 = (f1 - a[6]! * x2 - a[7]! * x3) * a[5]!;
  x[0] = (f0 - a[1]! * x1 - a[2]! * x2 - a[3]! * x3) * a[0]!;
  x[1] = x1;
  x[2] = x2;
  x[3] = x3;
}

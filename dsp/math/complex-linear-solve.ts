// Small dense complex linear systems; real and imaginary parts in separate arrays.

/**
 * Factors a square complex matrix in place with partial pivoting by |re| + |im| (ties to the lower row); layout and
 * meaning of the return value as `luFactor`. Allocates nothing.
 */
export function complexLuFactor(re: Float64Array, im: Float64Array, size: number, pivots: Int32Array): boolean {
  for (let k = 0; k < size; k++) {
    let pivotRow = k;
    let largest = Math.abs(re[k * size + k]!) + Math.abs(im[k * size + k]!);
    for (let row = k + 1; row < size; row++) {
      const candidate = Math.abs(re[row * size + k]!) + Math.abs(im[row * size + k]!);
      if (candidate > largest) {
        largest = candidate;
        pivotRow = row;
      }
    }
    if (!(largest > 0 && largest < Infinity)) return false;
    pivots[k] = pivotRow;
    if (pivotRow !== k) {
      exchangeRows(re, size, k, pivotRow);
      exchangeRows(im, size, k, pivotRow);
    }
    eliminateColumn(re, im, size, k, largest);
  }
  return true;
}

function exchangeRows(part: Float64Array, size: number, first: number, second: number): void {
  for (let column = 0; column < size; column++) {
    const kept = part[first * size + column]!;
    part[first * size + column] = part[second * size + column]!;
    part[second * size + column] = kept;
  }
}

function eliminateColumn(re: Float64Array, im: Float64Array, size: number, k: number, scale: number): void {
  // 1/pivot, scaled so that the squared magnitude neither overflows nor vanishes.
  const pivotRe = re[k * size + k]! / scale;
  const pivotIm = im[k * size + k]! / scale;
  const square = pivotRe * pivotRe + pivotIm * pivotIm;
  const inverseRe = pivotRe / square / scale;
  const inverseIm = -pivotIm / square / scale;
  for (let row = k + 1; row < size; row++) {
    const at = row * size;
    const a = re[at + k]!;
    const b = im[at + k]!;
    if (a === 0 && b === 0) continue;
    const factorRe = a * inverseRe - b * inverseIm;
    const factorIm = a * inverseIm + b * inverseRe;
    re[at + k] = factorRe;
    im[at + k] = factorIm;
    for (let column = k + 1; column < size; column++) {
      const c = re[k * size + column]!;
      const d = im[k * size + column]!;
      re[at + column] = re[at + column]! - (factorRe * c - factorIm * d);
      im[at + column] = im[at + column]! - (factorRe * d + factorIm * c);
    }
  }
}

/** Solves A x = b in place of b with the factors of `complexLuFactor`; offset and stride as in `luSolve`. Allocates nothing. */
export function complexLuSolve(
  re: Float64Array, im: Float64Array, size: number, pivots: Int32Array,
  rhsRe: Float64Array, rhsIm: Float64Array, offset = 0, stride = 1,
): void {
  for (let k = 0; k < size; k++) {
    const here = offset + k * stride;
    const there = offset + pivots[k]! * stride;
    if (here === there) continue;
    const keptRe = rhsRe[here]!;
    const keptIm = rhsIm[here]!;
    rhsRe[here] = rhsRe[there]!;
    rhsIm[here] = rhsIm[there]!;
    rhsRe[there] = keptRe;
    rhsIm[there] = keptIm;
  }
  for (let row = 1; row < size; row++) subtractProducts(re, im, size, row, 0, row, rhsRe, rhsIm, offset, stride);
  for (let row = size - 1; row >= 0; row--) {
    subtractProducts(re, im, size, row, row + 1, size, rhsRe, rhsIm, offset, stride);
    const c = re[row * size + row]!;
    const d = im[row * size + row]!;
    const scale = Math.abs(c) + Math.abs(d);
    const unitRe = c / scale;
    const unitIm = d / scale;
    const square = unitRe * unitRe + unitIm * unitIm;
    const at = offset + row * stride;
    const a = rhsRe[at]!;
    const b = rhsIm[at]!;
    rhsRe[at] = (a * unitRe + b * unitIm) / square / scale;
    rhsIm[at] = (b * unitRe - a * unitIm) / square / scale;
  }
}

function subtractProducts(
  re: Float64Array, im: Float64Array, size: number, row: number, from: number, to: number,
  rhsRe: Float64Array, rhsIm: Float64Array, offset: number, stride: number,
): void {
  const at = offset + row * stride;
  let sumRe = rhsRe[at]!;
  let sumIm = rhsIm[at]!;
  for (let column = from; column < to; column++) {
    const a = re[row * size + column]!;
    const b = im[row * size + column]!;
    const c = rhsRe[offset + column * stride]!;
    const d = rhsIm[offset + column * stride]!;
    sumRe -= a * c - b * d;
    sumIm -= a * d + b * c;
  }
  rhsRe[at] = sumRe;
  rhsIm[at] = sumIm;
}

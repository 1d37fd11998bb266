/** Is a matrix singular, and along which vectors: complete pivoting after scaling. Not for the audio thread. */
import { log2, powerOfTwo } from '../math/index.ts';

/** What a square matrix does not determine, and which of its equations say nothing new. */
export interface RankReport {
  readonly rank: number;
  /** Null vectors x of the scaled matrix, `A C x = 0`; empty at full rank. Entries compare across volts and amperes. */
  readonly right: readonly Float64Array[];
  /** Left null vectors y of the scaled matrix, `yᵀ R A = 0`, as many. */
  readonly left: readonly Float64Array[];
  /** R, the power of two each row was multiplied by. */
  readonly rowScales: Float64Array;
}

/** A pivot below size · this of the first one is none. Sound circuits gave ≥ 1e-2 for the last pivot, singular ones 0 to rounding. */
const deficientPivot = 1e-15;
const scalingRounds = 3;

/**
 * Rank of a size × size row-major matrix (left untouched). Rows and columns are scaled by powers of two in three rounds, then
 * factored with complete pivoting (ties to the lower row, then column).
 * Source: G. H. Golub, C. F. Van Loan, "Matrix Computations", §3.4 and §3.5, from memory.
 */
export function examineRank(matrix: Float64Array, size: number): RankReport {
  const a = matrix.slice();
  const rowScales = scale(a, size);
  const rows = Int32Array.from({ length: size }, (_, k) => k);
  const columns = rows.slice();
  const rank = factor(a, size, rows, columns);
  const right: Float64Array[] = [];
  const left: Float64Array[] = [];
  for (let free = rank; free < size; free += 1) {
    right.push(rightNullVector(a, size, rank, free, columns));
    left.push(leftNullVector(a, size, rank, free, rows));
  }
  return { rank, right, left, rowScales };
}

function scale(a: Float64Array, size: number): Float64Array {
  const rowScales = new Float64Array(size).fill(1);
  for (let round = 0; round < scalingRounds; round += 1) {
    for (let row = 0; row < size; row += 1) rowScales[row]! *= scaleLine(a, row * size, 1, size);
    for (let column = 0; column < size; column += 1) scaleLine(a, column, size, size);
  }
  return rowScales;
}

/** Multiplies a line by the power of two that brings its largest entry near 1; returns it. */
function scaleLine(a: Float64Array, offset: number, stride: number, size: number): number {
  let largest = 0;
  for (let k = 0; k < size; k += 1) largest = Math.max(largest, Math.abs(a[offset + k * stride]!));
  if (!(largest > 0 && largest < Infinity)) return 1;
  const by = powerOfTwo(-Math.round(log2(largest)));
  for (let k = 0; k < size; k += 1) a[offset + k * stride]! *= by;
  return by;
}

function factor(a: Float64Array, size: number, rows: Int32Array, columns: Int32Array): number {
  let firstPivot = 0;
  for (let k = 0; k < size; k += 1) {
    let largest = 0;
    let pivotRow = k;
    let pivotColumn = k;
    for (let row = k; row < size; row += 1) {
      for (let column = k; column < size; column += 1) {
        const candidate = Math.abs(a[row * size + column]!);
        if (candidate > largest) {
          largest = candidate;
          pivotRow = row;
          pivotColumn = column;
        }
      }
    }
    if (k === 0) firstPivot = largest;
    if (!(largest > 0 && largest >= size * deficientPivot * firstPivot)) return k;
    for (let j = 0; j < size; j += 1) exchange(a, k * size + j, pivotRow * size + j);
    for (let j = 0; j < size; j += 1) exchange(a, j * size + k, j * size + pivotColumn);
    exchange(rows, k, pivotRow);
    exchange(columns, k, pivotColumn);
    for (let row = k + 1; row < size; row += 1) {
      const multiplier = a[row * size + k]! / a[k * size + k]!;
      a[row * size + k] = multiplier;
      for (let column = k + 1; column < size; column += 1) a[row * size + column]! -= multiplier * a[k * size + column]!;
    }
  }
  return size;
}

function exchange(list: Float64Array | Int32Array, first: number, second: number): void {
  const kept = list[first]!;
  list[first] = list[second]!;
  list[second] = kept;
}

/** x with U11 x1 = −(column `free` of U), 1 at `free`, in the original order of unknowns. */
function rightNullVector(a: Float64Array, size: number, rank: number, free: number, columns: Int32Array): Float64Array {
  const x = new Float64Array(size);
  x[columns[free]!] = 1;
  for (let row = rank - 1; row >= 0; row -= 1) {
    let sum = -a[row * size + free]!;
    for (let column = row + 1; column < rank; column += 1) sum -= a[row * size + column]! * x[columns[column]!]!;
    x[columns[row]!] = sum / a[row * size + row]!;
  }
  return x;
}

/** y with y1ᵀ L11 = −(row `free` of L), 1 at `free`, in the original order of equations. */
function leftNullVector(a: Float64Array, size: number, rank: number, free: number, rows: Int32Array): Float64Array {
  const y = new Float64Array(size);
  y[rows[free]!] = 1;
  for (let column = rank - 1; column >= 0; column -= 1) {
    let sum = -a[free * size + column]!;
    for (let row = column + 1; row < rank; row += 1) sum -= a[row * size + column]! * y[rows[row]!]!;
    y[rows[column]!] = sum;
  }
  return y;
}

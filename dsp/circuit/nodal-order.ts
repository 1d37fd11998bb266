/**
 * The order in which the kept unknowns of a nodal form are eliminated, fixed at build: few products (H. M. Markowitz, "The elimination form of the inverse and its application to linear programming",
 * 1957, from memory), and pivots that last whatever the devices do.
 */
import type { DeviceTable } from './system.ts';

/** A pivot should be this part of the largest in its row. */
const pivotShare = 1e-3;

/** What counts for a device that is off, and for one driven hard, beside its slopes at rest. */
const slopeShares = [1e-9, 1e3];

/**
 * Packed Jacobians that one order of elimination must serve: at rest, all devices off, and each alone off and driven hard. An order made for the operating point alone leans on slopes that vanish:
 * a common emitter went to the rescue in every sample of cut-off.
 */
export function biasesOf({ count, jacobianOffsets }: DeviceTable, jacobian: Float64Array): Float64Array[] {
  const scaled = (share: number, device: number): Float64Array =>
    jacobian.map((slope, entry) => (device < 0 || (entry >= jacobianOffsets[device]! && entry < jacobianOffsets[device + 1]!) ? share * slope : slope));
  const devices = Array.from({ length: count }, (_, d) => d);
  return [jacobian, scaled(slopeShares[0]!, -1), ...slopeShares.flatMap((share) => devices.map((device) => scaled(share, device)))];
}

/**
 * Rows and columns in the order of elimination, and the entries of the factors with their fill, in that order: fewest products first among the pivots that are large enough in their rows in all of
 * `matrices`; where there is none, the one that is largest in the matrix where it is smallest. Null: a column without a pivot.
 */
export function markowitz(given: readonly Float64Array[], shape: readonly (readonly boolean[])[], N: number): { rows: number[]; columns: number[]; filled: boolean[][] } | null {
  const matrices = given.map((matrix) => Float64Array.from(matrix));
  const has = shape.map((row) => [...row]);
  const [rows, columns]: [number[], number[]] = [[], []];
  const freeRows = new Set(Array.from({ length: N }, (_, k) => k));
  const freeColumns = new Set(freeRows);
  for (let k = 0; k < N; k += 1) {
    let best: { row: number; column: number; cost: number; share: number } | null = null;
    for (const row of freeRows) {
      const largest = matrices.map((matrix) => [...freeColumns].reduce((most, c) => Math.max(most, Math.abs(matrix[row * N + c]!)), 0));
      for (const column of freeColumns) {
        if (!has[row]![column]) continue;
        const share = matrices.reduce((least, matrix, at) => Math.min(least, Math.abs(matrix[row * N + column]!) / largest[at]!), Infinity);
        if (!(share > 0)) continue;
        const cost = share < pivotShare ? Infinity
          : ([...freeColumns].filter((c) => has[row]![c]).length - 1) * ([...freeRows].filter((other) => has[other]![column]).length - 1);
        if (best === null || cost < best.cost || (cost === best.cost && share > best.share)) best = { row, column, cost, share };
      }
    }
    if (best === null) return null;
    const { row, column } = best;
    freeRows.delete(row);
    freeColumns.delete(column);
    rows.push(row);
    columns.push(column);
    for (const other of freeRows) {
      if (!has[other]![column]) continue;
      for (const c of freeColumns) if (has[row]![c]) has[other]![c] = true;
      for (const matrix of matrices) {
        const factor = matrix[other * N + column]! / matrix[row * N + column]!;
        for (const c of freeColumns) if (has[row]![c]) matrix[other * N + c] = matrix[other * N + c]! - factor * matrix[row * N + c]!;
      }
    }
  }
  return { rows, columns, filled: rows.map((row) => columns.map((column) => has[row]![column]!)) };
}

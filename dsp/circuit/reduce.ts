/**
 * From nodal equations to a state update with a small nonlinear port system (K-method: Borin, De Poli, Rocchesso, "Elimination of
 * delay-free loops in discrete-time models of nonlinear acoustic systems", 2000; Yeh, Abel, Smith 2010; both from memory).
 */
import { luFactor, luSolve } from '../math/index.ts';
import { addDeviceConductances } from './linear-network.ts';
import { replaceRows } from './singularity.ts';
import type { RedundantRow } from './singularity.ts';
import type { CircuitSystem } from './system.ts';

/**
 * The reduced equations of one step, dense and row-major, with m ports, n states, r currents:
 * `p = q0 + qu u + D z`, `v = p + K i(v)`, `z' = a0 + B u + A z + C i`, `y = y0 + M u + L z + F i`. Volts, amperes, siemens, ohms;
 * a control and a current are the device's own (signs of p-types are inside). The ports are the controls until these are merged (`ports.ts`).
 */
export interface ReducedEquations {
  readonly stateCount: number;
  readonly portCount: number;
  readonly currentCount: number;
  /** q0 (m), qu (m), D (m × n), K (m × r). */
  readonly portConstant: Float64Array;
  readonly portInput: Float64Array;
  readonly portMemory: Float64Array;
  readonly portCurrent: Float64Array;
  /** a0 (n), B (n), A (n × n), C (n × r). */
  readonly stateConstant: Float64Array;
  readonly stateInput: Float64Array;
  readonly stateMemory: Float64Array;
  readonly stateCurrent: Float64Array;
  /** y0, M (one number each), L (n), F (r). */
  readonly outputConstant: Float64Array;
  readonly outputInput: Float64Array;
  readonly outputMemory: Float64Array;
  readonly outputCurrent: Float64Array;
}

/** … as they come from a circuit, one port per control. */
export interface ReducedCircuit extends ReducedEquations {
  /**
   * Largest magnitude in the rows of all nodes over [u | z] and over the currents: what rounding is measured by. Not in the rows of a port's own two nodes: where both are on
   * ideal sources, these hold nothing but rounding themselves.
   */
  readonly memoryScale: number;
  readonly currentScale: number;
  /** Smallest pivot of the row- and column-scaled matrix over its largest; 0 when it is singular, and then all else is meaningless. */
  readonly smallestPivot: number;
}

/** How a circuit is to be reduced. */
export interface Reduction {
  readonly stepSeconds: number;
  /** One flag per state. */
  readonly backwardEuler: Uint8Array;
  /** Packed Jacobian G0 (S) to be put into the matrix: the currents of the result are then i − G0 v. null: none. */
  readonly shift: Float64Array | null;
  /** Equations that say nothing new at any step (loops of sources that agree with themselves). */
  readonly redundant: readonly RedundantRow[];
}

/** Eliminates all node voltages and branch currents. Off the audio thread. */
export function reduce(system: CircuitSystem, { stepSeconds, backwardEuler, shift, redundant }: Reduction): ReducedCircuit {
  const { size, states, devices } = system;
  const n = states.length;
  const m = devices.controlCount;
  const r = devices.currentCount;
  const stamped = system.stamp({ kind: 'step', stepSeconds, backwardEuler });
  const matrix = Float64Array.from(stamped.matrix);
  if (shift !== null) addDeviceConductances(system, shift, matrix);
  replaceRows(matrix, size, redundant);

  // Right sides side by side: constant, input, states, currents.
  const width = 2 + n + r;
  const columns = new Float64Array(size * width);
  for (let row = 0; row < size; row += 1) {
    const at = row * width;
    columns[at] = stamped.constant[row]!;
    columns[at + 1] = stamped.input[row]!;
    for (let k = 0; k < n; k += 1) columns[at + 2 + k] = stamped.memory[row * n + k]!;
    for (let k = 0; k < r; k += 1) columns[at + 2 + n + k] = stamped.current[row * r + k]!;
  }
  for (const { row } of redundant) columns.fill(0, row * width, (row + 1) * width);
  const smallestPivot = solveScaled(matrix, size, columns, width);

  const difference = (plus: number, minus: number, factor: number): Float64Array => {
    const row = new Float64Array(width);
    for (let k = 0; k < width; k += 1) {
      const a = plus < 0 ? 0 : columns[plus * width + k]!;
      const b = minus < 0 ? 0 : columns[minus * width + k]!;
      row[k] = factor * (a - b);
    }
    return row;
  };
  const ports = Array.from({ length: m }, (_, k) =>
    difference(system.controlRows[2 * k]!, system.controlRows[2 * k + 1]!, system.controlSigns[k]!));
  const scaleOf = (from: number, count: number): number => {
    let largest = 0;
    for (let row = 0; row < system.nodeNames.length; row += 1) {
      for (let c = from; c < from + count; c += 1) largest = Math.max(largest, Math.abs(columns[row * width + c]!));
    }
    return largest;
  };
  const updates = Array.from({ length: n }, (_, k) => {
    const stored = difference(system.stateRows[2 * k]!, system.stateRows[2 * k + 1]!, 1);
    if (backwardEuler[k] === 1) return stored;
    for (let c = 0; c < width; c += 1) stored[c] = 2 * stored[c]!;
    stored[2 + k] = stored[2 + k]! - 1;
    return stored;
  });
  const output = [difference(system.outputRows[0], system.outputRows[1], 1)];
  const part = (rows: readonly Float64Array[], from: number, count: number): Float64Array => {
    const out = new Float64Array(rows.length * count);
    rows.forEach((row, k) => out.set(row.subarray(from, from + count), k * count));
    return out;
  };
  return {
    stateCount: n, portCount: m, currentCount: r,
    portConstant: part(ports, 0, 1), portInput: part(ports, 1, 1), portMemory: part(ports, 2, n), portCurrent: part(ports, 2 + n, r),
    stateConstant: part(updates, 0, 1), stateInput: part(updates, 1, 1), stateMemory: part(updates, 2, n), stateCurrent: part(updates, 2 + n, r),
    outputConstant: part(output, 0, 1), outputInput: part(output, 1, 1), outputMemory: part(output, 2, n), outputCurrent: part(output, 2 + n, r),
    memoryScale: scaleOf(1, 1 + n),
    currentScale: scaleOf(2 + n, r),
    smallestPivot,
  };
}

/** The power of two not above |x|; 1 for 0 and for what is not finite. */
function powerBelow(x: number): number {
  let power = 1;
  if (!(x > 0 && x < Infinity)) return power;
  while (power > x) power /= 2;
  while (power * 2 <= x) power *= 2;
  return power;
}

/**
 * Solves `matrix · X = columns` in place of the columns, rows and columns of the matrix first scaled by powers of two (exact) in three rounds;
 * the matrix is overwritten. Returns the smallest pivot over the largest, 0 when singular.
 */
function solveScaled(matrix: Float64Array, size: number, columns: Float64Array, width: number): number {
  const rowScale = new Float64Array(size).fill(1);
  const columnScale = new Float64Array(size).fill(1);
  for (let round = 0; round < 3; round += 1) {
    for (let row = 0; row < size; row += 1) {
      let largest = 0;
      for (let c = 0; c < size; c += 1) largest = Math.max(largest, Math.abs(matrix[row * size + c]!));
      const factor = 1 / powerBelow(largest);
      rowScale[row] = rowScale[row]! * factor;
      for (let c = 0; c < size; c += 1) matrix[row * size + c] = matrix[row * size + c]! * factor;
    }
    for (let c = 0; c < size; c += 1) {
      let largest = 0;
      for (let row = 0; row < size; row += 1) largest = Math.max(largest, Math.abs(matrix[row * size + c]!));
      const factor = 1 / powerBelow(largest);
      columnScale[c] = columnScale[c]! * factor;
      for (let row = 0; row < size; row += 1) matrix[row * size + c] = matrix[row * size + c]! * factor;
    }
  }
  for (let row = 0; row < size; row += 1) {
    for (let k = 0; k < width; k += 1) columns[row * width + k] = columns[row * width + k]! * rowScale[row]!;
  }
  const pivots = new Int32Array(size);
  if (!luFactor(matrix, size, pivots)) return 0;
  let smallest = Infinity;
  let largest = 0;
  for (let k = 0; k < size; k += 1) {
    const pivot = Math.abs(matrix[k * size + k]!);
    smallest = Math.min(smallest, pivot);
    largest = Math.max(largest, pivot);
  }
  for (let k = 0; k < width; k += 1) luSolve(matrix, size, pivots, columns, k, width);
  for (let row = 0; row < size; row += 1) {
    for (let k = 0; k < width; k += 1) columns[row * width + k] = columns[row * width + k]! * columnScale[row]!;
  }
  return size === 0 ? 1 : smallest / largest;
}

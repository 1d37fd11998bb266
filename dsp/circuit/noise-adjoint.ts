/**
 * How every equation of a circuit reaches its output, for small signals at the operating point: the adjoint network (S. W. Director, R. A. Rohrer, "The generalized adjoint network and network
 * sensitivities", 1969; R. Rohrer, L. Nagel, R. Meyer, L. Weber, "Computationally efficient electronic-circuit noise calculations", 1971; from memory). One solve a frequency serves all sources.
 */
import { complexLuFactor, complexLuSolve } from '../math/index.ts';
import { CircuitError } from './document-errors.ts';
import { addDeviceConductances } from './linear-network.ts';
import type { OperatingPoint } from './operating-point.ts';
import { replaceRows } from './singularity.ts';
import type { CircuitSystem } from './system.ts';

/** At one frequency: output volts per unit on the right side of each row; a node's row takes amperes that enter it, a source's branch row volts. */
export interface OutputSensitivity {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/**
 * Calls `look` with the sensitivities at each frequency (> 0 Hz) in turn; its arrays are used again. `output`: the unknowns whose difference is asked for (−1: none), the circuit's output if
 * absent; a branch's unknown is its current. Throws `CircuitError` where the circuit is singular. Not for the audio thread.
 */
export function eachSensitivity(
  system: CircuitSystem, point: OperatingPoint, frequenciesHz: ArrayLike<number>, look: (sensitivity: OutputSensitivity, index: number) => void,
  output: readonly [number, number] = system.outputRows,
): void {
  const { size } = system;
  const conductance = system.stamp({ kind: 'direct-current' }).matrix;
  addDeviceConductances(system, point.jacobian, conductance);
  const redundant = point.redundantRows.filter((row) => !row.hasInductor);
  replaceRows(conductance, size, redundant);
  const storage = system.stampStorage();
  for (const { row } of redundant) storage.fill(0, row * size, (row + 1) * size);
  // The adjoint's matrix is the transpose; what was stamped is not looked at again.
  transpose(conductance, size);
  transpose(storage, size);
  const matrixRe = new Float64Array(size * size);
  const matrixIm = new Float64Array(size * size);
  const pivots = new Int32Array(size);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  const [plus, minus] = output;
  for (let k = 0; k < frequenciesHz.length; k += 1) {
    const hz = frequenciesHz[k]!;
    const angular = 2 * Math.PI * hz;
    matrixRe.set(conductance);
    for (let at = 0; at < storage.length; at += 1) matrixIm[at] = angular * storage[at]!;
    re.fill(0);
    im.fill(0);
    if (plus >= 0) re[plus] = 1;
    if (minus >= 0) re[minus] = -1;
    if (!complexLuFactor(matrixRe, matrixIm, size, pivots)) throw new CircuitError(`the circuit has no small-signal solution at ${hz} Hz`);
    complexLuSolve(matrixRe, matrixIm, size, pivots, re, im);
    // An equation that was replaced takes nothing from any source.
    for (const { row } of redundant) {
      re[row] = 0;
      im[row] = 0;
    }
    look({ re, im }, k);
  }
}

function transpose(matrix: Float64Array, size: number): void {
  for (let row = 1; row < size; row += 1) {
    for (let column = 0; column < row; column += 1) {
      const kept = matrix[row * size + column]!;
      matrix[row * size + column] = matrix[column * size + row]!;
      matrix[column * size + row] = kept;
    }
  }
}

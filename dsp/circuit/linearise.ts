/** The reduced equations made linear at one bias: the small-signal system as it is discretised. */
import { complexLuFactor, complexLuSolve, cos, luFactor, luSolve, sin } from '../math/index.ts';
import type { ReducedEquations } from './reduce.ts';
import type { DeviceTable } from './system.ts';

/** `z' = A z + B u`, `y = L z + M u`, small signals; A is n × n row-major. */
export interface LinearStep {
  readonly stateCount: number;
  readonly memory: Float64Array;
  readonly input: Float64Array;
  readonly outputMemory: Float64Array;
  readonly outputInput: number;
}

/** Row-major currents × controls Jacobian from the packed blocks of `devices`. */
export function unpackJacobian(devices: DeviceTable, packed: Float64Array): Float64Array {
  const m = devices.controlCount;
  const dense = new Float64Array(devices.currentCount * m);
  for (let d = 0; d < devices.count; d += 1) {
    let at = devices.jacobianOffsets[d]!;
    for (let i = devices.currentOffsets[d]!; i < devices.currentOffsets[d + 1]!; i += 1) {
      for (let c = devices.controlOffsets[d]!; c < devices.controlOffsets[d + 1]!; c += 1, at += 1) dense[i * m + c] = packed[at]!;
    }
  }
  return dense;
}

/** I − K J, m × m row-major, from a dense `jacobian` (currents × the ports of `reduced`). */
export function newtonMatrix(reduced: ReducedEquations, jacobian: Float64Array): Float64Array {
  const { portCount: m, currentCount: r, portCurrent } = reduced;
  const matrix = new Float64Array(m * m);
  for (let row = 0; row < m; row += 1) {
    for (let c = 0; c < m; c += 1) {
      let sum = row === c ? 1 : 0;
      for (let i = 0; i < r; i += 1) sum -= portCurrent[row * r + i]! * jacobian[i * m + c]!;
      matrix[row * m + c] = sum;
    }
  }
  return matrix;
}

/** G = (I − K J)⁻¹ [qu D]; A + C J G and likewise B, L, M. `jacobian` is dense (currents × the ports of `reduced`); null where I − K J is singular. */
export function linearise(reduced: ReducedEquations, jacobian: Float64Array): LinearStep | null {
  const { stateCount: n, portCount: m, currentCount: r } = reduced;
  const matrix = newtonMatrix(reduced, jacobian);
  const pivots = new Int32Array(m);
  if (!luFactor(matrix, m, pivots)) return null;
  const width = n + 1;
  const ports = new Float64Array(m * width);
  for (let row = 0; row < m; row += 1) {
    ports[row * width] = reduced.portInput[row]!;
    for (let k = 0; k < n; k += 1) ports[row * width + 1 + k] = reduced.portMemory[row * n + k]!;
  }
  for (let k = 0; k < width; k += 1) luSolve(matrix, m, pivots, ports, k, width);
  const currents = new Float64Array(r * width);
  for (let i = 0; i < r; i += 1) {
    for (let k = 0; k < width; k += 1) {
      let sum = 0;
      for (let c = 0; c < m; c += 1) sum += jacobian[i * m + c]! * ports[c * width + k]!;
      currents[i * width + k] = sum;
    }
  }
  const through = (weights: Float64Array, row: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < r; i += 1) sum += weights[row * r + i]! * currents[i * width + k]!;
    return sum;
  };
  const memory = new Float64Array(n * n);
  const input = new Float64Array(n);
  const outputMemory = new Float64Array(n);
  for (let row = 0; row < n; row += 1) {
    input[row] = reduced.stateInput[row]! + through(reduced.stateCurrent, row, 0);
    outputMemory[row] = reduced.outputMemory[row]! + through(reduced.outputCurrent, 0, 1 + row);
    for (let k = 0; k < n; k += 1) memory[row * n + k] = reduced.stateMemory[row * n + k]! + through(reduced.stateCurrent, row, 1 + k);
  }
  return { stateCount: n, memory, input, outputMemory, outputInput: reduced.outputInput[0]! + through(reduced.outputCurrent, 0, 0) };
}

/** H = L (e^(jωh) I − A)⁻¹ B + M at `hz`, as [real, imaginary]; NaN where the system has a pole exactly there. */
export function responseOf(step: LinearStep, hz: number, stepSeconds: number): [number, number] {
  const { stateCount: n, memory } = step;
  const angle = 2 * Math.PI * hz * stepSeconds;
  const re = new Float64Array(n * n);
  const im = new Float64Array(n * n);
  for (let k = 0; k < n * n; k += 1) re[k] = -memory[k]!;
  for (let k = 0; k < n; k += 1) {
    re[k * n + k] = re[k * n + k]! + cos(angle);
    im[k * n + k] = sin(angle);
  }
  const pivots = new Int32Array(n);
  const x = Float64Array.from(step.input);
  const y = new Float64Array(n);
  if (!complexLuFactor(re, im, n, pivots)) return [NaN, NaN];
  complexLuSolve(re, im, n, pivots, x, y);
  let real = step.outputInput;
  let imaginary = 0;
  for (let k = 0; k < n; k += 1) {
    real += step.outputMemory[k]! * x[k]!;
    imaginary += step.outputMemory[k]! * y[k]!;
  }
  return [real, imaginary];
}

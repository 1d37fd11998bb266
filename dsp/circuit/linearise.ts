/** The reduced equations made linear at one bias: the small-signal system as it is discretised. */
import { complexLuFactor, complexLuSolve, cos, luFactor, luSolve, sin } from '../math/index.ts';
import type { ReducedEquations } from './reduce.ts';
import { cubicWeights } from './sub-steps.ts';
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

/**
 * Transfer at `hz` as [real, imaginary] of a system that makes `subSteps` steps a sample and is heard after the last of each: H = L (e^(jωh) I − A)⁻¹ B + M where it makes one, h = `sampleSeconds`. Of
 * several, z after a sample is A^R times z before it, plus what the sub-inputs (the cubic's, each w(ω) times the input) add in turn. NaN where the system has a pole exactly there.
 */
export function responseOf(step: LinearStep, hz: number, sampleSeconds: number, subSteps: 1 | 2 | 4 = 1): [number, number] {
  const { stateCount: n, memory, input } = step;
  const angle = 2 * Math.PI * hz * sampleSeconds;
  const subInputs = subInputTransfers(angle, subSteps);
  const re = negated(subSteps === 1 ? memory : powerOf(memory, n, subSteps));
  const im = new Float64Array(n * n);
  for (let k = 0; k < n; k += 1) {
    re[k * n + k] = re[k * n + k]! + cos(angle);
    im[k * n + k] = sin(angle);
  }
  const pivots = new Int32Array(n);
  let x = new Float64Array(n);
  let y = new Float64Array(n);
  const stepOn = ([a, b]: readonly [number, number]): void => {
    x = times(memory, x, input, a);
    y = times(memory, y, input, b);
  };
  // What one sample adds to z …
  for (const transfer of subInputs) stepOn(transfer);
  if (!complexLuFactor(re, im, n, pivots)) return [NaN, NaN];
  // … gives z before it, and from there the steps but the last lead to the z that the output is of.
  complexLuSolve(re, im, n, pivots, x, y);
  for (const transfer of subInputs.slice(0, -1)) stepOn(transfer);
  let real = step.outputInput;
  let imaginary = 0;
  for (let k = 0; k < n; k += 1) {
    real += step.outputMemory[k]! * x[k]!;
    imaginary += step.outputMemory[k]! * y[k]!;
  }
  return [real, imaginary];
}

/** Of each step of a sample: its input over the sample's own, as [real, imaginary]; `angle` = ωh. */
function subInputTransfers(angle: number, subSteps: 1 | 2 | 4): [number, number][] {
  const { scale, rows } = cubicWeights[subSteps];
  const between = rows.map((weights): [number, number] => [
    weights.reduce((sum: number, weight, age) => sum + weight * cos(age * angle), 0) * scale,
    weights.reduce((sum: number, weight, age) => sum - weight * sin(age * angle), 0) * scale,
  ]);
  return [...between, [1, 0]];
}

const negated = (matrix: Float64Array): Float64Array<ArrayBuffer> => Float64Array.from(matrix, (value) => -value);

/** A² or A⁴. */
function powerOf(memory: Float64Array, n: number, exponent: 2 | 4): Float64Array {
  const square = (a: Float64Array): Float64Array => Float64Array.from({ length: n * n }, (_, at) => {
    const row = Math.floor(at / n);
    let sum = 0;
    for (let k = 0; k < n; k += 1) sum += a[row * n + k]! * a[k * n + (at % n)]!;
    return sum;
  });
  return exponent === 2 ? square(memory) : square(square(memory));
}

/** A z + B u. */
function times(memory: Float64Array, z: Float64Array, input: Float64Array, u: number): Float64Array<ArrayBuffer> {
  const n = z.length;
  return Float64Array.from(z, (_, row) => {
    let sum = input[row]! * u;
    for (let k = 0; k < n; k += 1) sum += memory[row * n + k]! * z[k]!;
    return sum;
  });
}

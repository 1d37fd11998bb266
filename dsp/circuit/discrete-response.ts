/** Small-signal response of a program as it runs, integration rule included. Off the audio thread. */
import { evaluateSmallSignal } from './devices.ts';
import type { Complex } from './exact-response.ts';
import { linearise, responseOf, unpackJacobian } from './linearise.ts';
import type { LinearStep } from './linearise.ts';
import type { CircuitProgram, SparseRows } from './program.ts';
import type { ReducedEquations } from './reduce.ts';

/** The linear system of one step of an instance at rest: A, B, L, M. Throws `RangeError` where I − K J is singular there. */
export function linearStepOf(program: CircuitProgram, instanceIndex = 0): LinearStep {
  const jacobian = new Float64Array(program.devices.jacobianOffsets[program.devices.count]!);
  evaluateSmallSignal(program.devices, program.operatingPoint.controlVolts, new Float64Array(program.devices.currentCount), jacobian);
  const running = program.shift === null ? jacobian : jacobian.map((value, k) => value - program.shift![k]!);
  const step = linearise(denseEquations(program, instanceIndex), unpackJacobian(program.devices, running));
  if (step === null) throw new RangeError(`"${program.title}": the operating point has no linear response`);
  return step;
}

/**
 * Output volts per input volt at each frequency, as real and imaginary parts: the inputs between the samples and the combination of two runs
 * included.
 */
export function discreteResponse(program: CircuitProgram, frequenciesHz: ArrayLike<number>): Complex[] {
  const runs = program.instances.map(({ subSteps }, index) => ({ step: linearStepOf(program, index), subSteps }));
  return Array.from(frequenciesHz, (hz) => {
    const [coarse, fine] = runs.map(({ step, subSteps }) => responseOf(step, hz, 1 / program.rateHz, subSteps));
    const [re, im] = coarse!;
    return fine === undefined ? { re, im } : { re: (4 * fine[0] - re) / 3, im: (4 * fine[1] - im) / 3 };
  });
}

/** The rows of an instance written out in full again, one port per control. */
export function denseEquations({ topology, instances }: CircuitProgram, instanceIndex = 0): ReducedEquations {
  const { stateCount: n, controlCount: m, portCount, currentCount: r, controlPorts, controlSigns, portRows, feedbackRows, updateRows } = topology;
  const { portConstants, portCoefficients, controlOffsets, feedbackCoefficients, updateConstants, updateCoefficients } = instances[instanceIndex]!;
  const perControl = (rows: Float64Array, width: number): Float64Array =>
    Float64Array.from({ length: m * width }, (_, at) => {
      const k = Math.floor(at / width);
      return controlSigns[k]! * rows[controlPorts[k]! * width + (at % width)]!;
    });
  const ports = perControl(dense(portRows, portCoefficients, portCount, 1 + n), 1 + n);
  const updates = dense(updateRows, updateCoefficients, n + 1, 1 + n + r);
  return {
    stateCount: n, portCount: m, currentCount: r,
    portConstant: perControl(portConstants, 1).map((volts, k) => volts + controlOffsets[k]!),
    portInput: block(ports, 1 + n, 0, m, 0, 1), portMemory: block(ports, 1 + n, 0, m, 1, n),
    portCurrent: perControl(dense(feedbackRows, feedbackCoefficients, portCount, r), r),
    stateConstant: updateConstants.slice(0, n), stateInput: block(updates, 1 + n + r, 0, n, 0, 1),
    stateMemory: block(updates, 1 + n + r, 0, n, 1, n), stateCurrent: block(updates, 1 + n + r, 0, n, 1 + n, r),
    outputConstant: updateConstants.slice(n), outputInput: block(updates, 1 + n + r, n, 1, 0, 1),
    outputMemory: block(updates, 1 + n + r, n, 1, 1, n), outputCurrent: block(updates, 1 + n + r, n, 1, 1 + n, r),
  };
}

function dense(rows: SparseRows, coefficients: Float64Array, rowCount: number, width: number): Float64Array {
  const full = new Float64Array(rowCount * width);
  for (let row = 0; row < rowCount; row += 1) {
    for (let entry = rows.starts[row]!; entry < rows.starts[row + 1]!; entry += 1) full[row * width + rows.columns[entry]!] = coefficients[entry]!;
  }
  return full;
}

function block(full: Float64Array, width: number, firstRow: number, rowCount: number, firstColumn: number, columnCount: number): Float64Array {
  const part = new Float64Array(rowCount * columnCount);
  for (let row = 0; row < rowCount; row += 1) {
    for (let c = 0; c < columnCount; c += 1) part[row * columnCount + c] = full[(firstRow + row) * width + firstColumn + c]!;
  }
  return part;
}

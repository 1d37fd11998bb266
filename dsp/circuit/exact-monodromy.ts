/** What one period does to small changes of the memory, from the steps' own linear equations instead of differences. Off the audio thread. */
import { measuringTolerance } from './channel-memory.ts';
import { denseEquations } from './discrete-response.ts';
import { linearise, unpackJacobian } from './linearise.ts';
import type { CircuitProgram } from './program.ts';
import { createSolverReport } from './solver-report.ts';
import { ChannelSolver } from './solver.ts';

/** z, guess of the control voltages, and memories of the cores, all before the period. */
interface MonodromyStart {
  readonly startStates: Float64Array;
  readonly startControls: Float64Array;
  readonly startHistories: Float64Array;
}

const samplesAtOnce = 512;

/**
 * ∂z(N)/∂z(0), row-major: the product of A + C J G over the samples of `input` (one period of volts at the step of instance `index`), run from `start`. Its error is
 * a relative one of each conductance, 1e-6, so that even a time constant of days is told from standing still, where differences are lost in 1e-7. Some 10 µs a sample: for what differences cannot do.
 * NaN where a step has no linear equations. Yields every few milliseconds.
 */
export function* monodromyByProduct(program: CircuitProgram, index: number, start: MonodromyStart, input: Float64Array): Generator<void, Float64Array> {
  const n = start.startStates.length;
  const solver = new ChannelSolver(program, createSolverReport(1), 0, index);
  solver.tolerance = measuringTolerance;
  solver.place(start.startStates, start.startControls, start.startHistories);
  const equations = denseEquations(program, index);
  let product = Float64Array.from({ length: n * n }, (_, k) => (k % (n + 1) === 0 ? 1 : 0));
  const sample = new Float64Array(1);
  for (let at = 0; at < input.length; at += 1) {
    if (at % samplesAtOnce === 0) yield;
    sample[0] = input[at]!;
    solver.run(sample, 0, 1);
    const step = linearise(equations, unpackJacobian(program.devices, solver.jacobian));
    if (step === null) return product.fill(NaN);
    product = multiply(step.memory, product, n);
  }
  return product;
}

function multiply(a: Float64Array, b: Float64Array, n: number): Float64Array<ArrayBuffer> {
  const product = new Float64Array(n * n);
  for (let row = 0; row < n; row += 1) {
    for (let k = 0; k < n; k += 1) {
      const factor = a[row * n + k]!;
      for (let c = 0; c < n; c += 1) product[row * n + c] = product[row * n + c]! + factor * b[k * n + c]!;
    }
  }
  return product;
}

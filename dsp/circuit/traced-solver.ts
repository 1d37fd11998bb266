/**
 * The readable solver, watched: every step of its Newton iteration kept, for whoever wants to follow a sample by hand. Not for the audio callback.
 */
import { createSolverReport } from './solver-report.ts';
import { measuringTolerance } from './channel-memory.ts';
import type { CircuitProgram } from './program.ts';
import { ChannelSolver } from './solver.ts';

/** One solution for a step g, and what it was solved from. */
export interface TracedPass {
  /** x, v (volts), i (amperes) and packed J (siemens) it starts from. */
  readonly portVolts: readonly number[];
  readonly controlVolts: readonly number[];
  readonly currents: readonly number[];
  readonly jacobian: readonly number[];
  /** I − K J, rows in elimination order; null in the first pass of a trace, which has its factors from before. */
  readonly matrix: readonly number[] | null;
  /** (p − x) + K i, rows in elimination order, and g by port, volts. */
  readonly residual: readonly number[];
  readonly step: readonly number[];
  /** Largest |g| in units of its port's scale. */
  readonly error: number;
}

export interface TracedSample {
  readonly inputVolts: number;
  /** p, volts per port. */
  readonly ports: readonly number[];
  readonly passes: readonly TracedPass[];
  readonly evaluations: number;
  /** Plain Newton did not converge; the passes are those up to there. */
  readonly rescued: boolean;
  /** c = i + J g, amperes. */
  readonly correctedCurrents: readonly number[];
  /** z after the sample: volts of capacitors, amperes of inductors. */
  readonly states: readonly number[];
  readonly outputVolts: number;
}

/** Steps one channel of an instance from the operating point, without the half step that starts a runner, and tells what each sample did. */
export function traceSamples(
  program: CircuitProgram, instanceIndex: number, inputVolts: readonly number[], tolerance: number = measuringTolerance,
): TracedSample[] {
  const solver = new TracedSolver(program, instanceIndex);
  solver.tolerance = tolerance;
  return inputVolts.map((volts) => solver.trace(volts));
}

class TracedSolver extends ChannelSolver {
  private passes: TracedPass[] = [];
  private lastMatrix: readonly number[] | null = null;
  private lastResidual: readonly number[] = [];

  constructor(program: CircuitProgram, instanceIndex: number) {
    super(program, createSolverReport(1), 0, instanceIndex);
  }

  trace(inputVolts: number): TracedSample {
    this.passes = [];
    this.lastMatrix = null;
    const [rescues, evaluations] = [this.report.rescues[0]!, this.report.evaluations[0]!];
    const buffer = Float64Array.of(inputVolts);
    this.run(buffer, 0, 1);
    const rescued = this.report.rescues[0]! > rescues;
    // Over the nodes nothing needs c.
    if (this.nodal !== null && !rescued) this.correctCurrents();
    const n = this.previousStates.length;
    return {
      inputVolts,
      ports: [...this.ports],
      passes: this.passes,
      evaluations: this.report.evaluations[0]! - evaluations,
      rescued,
      correctedCurrents: [...this.signal.subarray(1 + n)],
      states: [...this.signal.subarray(1, 1 + n)],
      outputVolts: buffer[0]!,
    };
  }

  override buildNewtonMatrix(): void {
    super.buildNewtonMatrix();
    this.lastMatrix = [...this.factors];
  }

  override residual(): void {
    super.residual();
    this.lastResidual = [...this.step];
  }

  /** Over the nodes, too, p, the residual and I − K J are told as the ports have them. */
  override factor(): boolean {
    if (this.nodal !== null) this.buildNewtonMatrix();
    return super.factor();
  }

  override solveStep(): void {
    if (this.nodal !== null) {
      this.predictPorts();
      this.residual();
    }
    super.solveStep();
    const { portVolts, volts, currents, jacobian, step, inverseScale } = this;
    this.passes.push({
      portVolts: [...portVolts], controlVolts: [...volts], currents: [...currents], jacobian: [...jacobian],
      matrix: this.lastMatrix, residual: this.lastResidual, step: [...step],
      error: step.reduce((largest, g, k) => Math.max(largest, Math.abs(g) * inverseScale[k]!), 0),
    });
  }
}

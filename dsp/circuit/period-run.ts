/** One period of a circuit, run again and again from states of one's choosing. Off the audio thread. */
import { measuringTolerance } from './channel-memory.ts';
import type { CircuitProgram } from './program.ts';
import { createSolverReport } from './solver-report.ts';
import { ChannelSolver } from './solver.ts';

export class PeriodRun {
  readonly program: CircuitProgram;
  /** z and guess of v before the period; the caller sets them. */
  readonly startStates: Float64Array;
  readonly startControls: Float64Array;
  /** z and v after the period last run. */
  readonly endStates: Float64Array;
  readonly endControls: Float64Array;
  readonly output: Float64Array;
  periods = 0;
  private readonly input: Float64Array;
  private readonly solver: ChannelSolver;
  private readonly displacedOutput: Float64Array;
  private meanIterations = 0;
  private capHits = 0;

  /** Starts at the operating point. */
  constructor(program: CircuitProgram, input: Float64Array) {
    this.program = program;
    this.input = input;
    this.solver = new ChannelSolver(program, createSolverReport(1), 0);
    this.solver.tolerance = measuringTolerance;
    this.startStates = Float64Array.from(program.operatingPoint.stored);
    this.startControls = Float64Array.from(program.operatingPoint.controlVolts);
    this.endStates = new Float64Array(this.startStates.length);
    this.endControls = new Float64Array(this.startControls.length);
    this.output = new Float64Array(input.length);
    this.displacedOutput = new Float64Array(input.length);
  }

  /** One period from the start values. False: the circuit left the finite numbers. */
  run(): boolean {
    const { solver, output } = this;
    const { report } = solver;
    const evaluationsBefore = report.evaluations[0]!;
    const capHitsBefore = report.capHits[0]!;
    solver.place(this.startStates, this.startControls);
    const finite = this.through(output);
    this.endStates.set(this.states());
    this.endControls.set(solver.volts);
    this.meanIterations = (report.evaluations[0]! - evaluationsBefore) / this.input.length;
    this.capHits = report.capHits[0]! - capHitsBefore;
    return finite;
  }

  /** The end of the period becomes the start of the next. */
  advance(): void {
    this.startStates.set(this.endStates);
    this.startControls.set(this.endControls);
  }

  /** Largest change of a state over the period, relative to the larger of its unit and itself. */
  periodError(): number {
    let error = 0;
    for (let k = 0; k < this.startStates.length; k += 1) {
      const unit = this.program.stateUnits[k]!;
      const start = this.startStates[k]!;
      const change = Math.abs(this.endStates[k]! - start) / Math.max(unit, Math.abs(start));
      if (!(change <= error)) error = change;
    }
    return error;
  }

  /** z after a period from the start values with state k displaced; the period last run stays what is reported. */
  displaced(k: number, by: number): Float64Array {
    const states = Float64Array.from(this.startStates);
    states[k] = states[k]! + by;
    this.solver.place(states, this.startControls);
    const finite = this.through(this.displacedOutput);
    return finite ? Float64Array.from(this.states()) : states.fill(NaN);
  }

  /** What the period last run says of the steady state. */
  result(): { output: Float64Array; states: Float64Array; controls: Float64Array; periods: number; meanIterations: number; capHits: number } {
    const { output, startStates, startControls, periods, meanIterations, capHits } = this;
    return { output, states: startStates, controls: startControls, periods, meanIterations, capHits };
  }

  private through(buffer: Float64Array): boolean {
    this.periods += 1;
    buffer.set(this.input);
    const { nonFinite } = this.solver.report;
    const before = nonFinite[0]!;
    this.solver.run(buffer, 0, buffer.length);
    return nonFinite[0] === before;
  }

  private states(): Float64Array {
    return this.solver.signal.subarray(1, 1 + this.startStates.length);
  }
}

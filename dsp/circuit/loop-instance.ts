/**
 * The readable loop as an instance runner: one `ChannelSolver` a channel. It plays where no compiled kernel can be had, and is what kernels are held
 * against.
 */
import type { InstanceRunner } from './instance-runner.ts';
import type { CircuitProgram } from './program.ts';
import { createSolverReport, clearSolverReport } from './solver-report.ts';
import type { SolverReport } from './solver-report.ts';
import { ChannelSolver } from './solver.ts';

/** All but the constructor: audio thread, allocates nothing, never throws. */
export class LoopInstance implements InstanceRunner {
  readonly program: CircuitProgram;
  readonly channels: number;
  readonly report: SolverReport;
  private readonly solvers: readonly ChannelSolver[];

  /** `tolerance`: `listeningTolerance` or `measuringTolerance`, in units of each control's scale. */
  constructor(program: CircuitProgram, instanceIndex: number, channels: number, tolerance: number) {
    this.program = program;
    this.channels = channels;
    this.report = createSolverReport(channels);
    this.solvers = Array.from({ length: channels }, (_, channel) => new ChannelSolver(program, this.report, channel, instanceIndex));
    for (const solver of this.solvers) solver.tolerance = tolerance;
  }

  reset(): void {
    for (const solver of this.solvers) solver.rest();
    clearSolverReport(this.report);
  }

  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    for (let channel = 0; channel < this.channels; channel += 1) this.solvers[channel]!.run(channels[channel]!, offset, frames);
  }

  start(channel: number, meanInputVolts: number): void {
    this.solvers[channel]!.start(meanInputVolts);
  }

  place(channel: number, states: Float64Array, controlVolts: Float64Array, histories: Float64Array | null = null): void {
    this.solvers[channel]!.place(states, controlVolts, histories);
  }

  read(channel: number, states: Float64Array, controlVolts: Float64Array): void {
    const { signal, volts } = this.solvers[channel]!;
    for (let k = 0; k < states.length; k += 1) states[k] = signal[1 + k]!;
    for (let k = 0; k < controlVolts.length; k += 1) controlVolts[k] = volts[k]!;
  }

  readHistories(channel: number, histories: Float64Array): void {
    const { histories: own } = this.solvers[channel]!;
    for (let k = 0; k < own.length; k += 1) histories[k] = own[k]!;
  }

  storedQuantity(channel: number, state: number): number {
    return this.solvers[channel]!.storedQuantity(state);
  }

  controlVolts(channel: number, control: number): number {
    return this.solvers[channel]!.volts[control]!;
  }
}

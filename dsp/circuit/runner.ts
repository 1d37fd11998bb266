/** A circuit that plays: channels of one program, started without a jolt, guarded against what is not finite. */
import { createSolverReport, clearSolverReport } from './solver-report.ts';
import type { SolverReport } from './solver-report.ts';
import type { CircuitProgram } from './program.ts';
import { carryOver } from './carry-over.ts';
import type { CarriedBias } from './carry-over.ts';
import { listeningTolerance } from './channel-memory.ts';
import { ChannelSolver, largestInput } from './solver.ts';

/** Everything but the constructor may be called from the audio callback: it allocates nothing, never throws, never waits. */
export class CircuitRunner {
  readonly program: CircuitProgram;
  readonly channels: number;
  readonly report: SolverReport;
  private readonly solvers: readonly ChannelSolver[];
  /** Input of the last sample, volts, one per channel. */
  private readonly lastInput: Float64Array;
  /** 1: the next sample is the first since reset or take-over. */
  private readonly starting: Uint8Array;

  /** `tolerance`: `listeningTolerance` or `measuringTolerance`, in units of each control's scale. */
  constructor(program: CircuitProgram, channels: number, tolerance: number = listeningTolerance) {
    this.program = program;
    this.channels = channels;
    this.report = createSolverReport(channels);
    this.solvers = Array.from({ length: channels }, (_, channel) => new ChannelSolver(program, this.report, channel));
    for (const solver of this.solvers) solver.tolerance = tolerance;
    this.lastInput = new Float64Array(channels);
    this.starting = new Uint8Array(channels).fill(1);
  }

  /** To the operating point, as new; counters to 0. */
  reset(): void {
    for (let channel = 0; channel < this.channels; channel += 1) {
      this.solvers[channel]!.rest();
      this.lastInput[channel] = 0;
      this.starting[channel] = 1;
    }
    clearSolverReport(this.report);
  }

  /**
   * Input volts (bias excluded) in, output volts (absolute, with their DC) out, in place, at the program's rate; any block length. An input that
   * is not finite is taken as 0 V and counted; a state or output that is not finite gives one sample at the rest output, counted, and goes on from the operating point.
   */
  process(channel: number, buffer: Float64Array, offset: number, frames: number): void {
    if (frames === 0) return;
    const solver = this.solvers[channel]!;
    if (this.starting[channel] === 1) {
      this.starting[channel] = 0;
      const first = buffer[offset]!;
      solver.start((this.lastInput[channel]! + (Math.abs(first) <= largestInput ? first : 0)) / 2);
    }
    const last = buffer[offset + frames - 1]!;
    this.lastInput[channel] = Math.abs(last) <= largestInput ? last : 0;
    solver.run(buffer, offset, frames);
  }

  /**
   * Takes over the memory of the runner that ran before a change of values, by component name: what capacitors and inductors store, and the
   * control voltages as first guess. `bias` 'settled' moves all of it by the difference of the two operating points.
   */
  adopt(previous: CircuitRunner, bias: CarriedBias = 'carried'): void {
    const channels = Math.min(this.channels, previous.channels);
    for (let channel = 0; channel < channels; channel += 1) {
      carryOver(previous.solvers[channel]!, this.solvers[channel]!, bias);
      this.lastInput[channel] = previous.lastInput[channel]!;
      this.starting[channel] = 1;
    }
  }
}

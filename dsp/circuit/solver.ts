/**
 * The readable solver: one channel of one program instance, sample by sample. It is the reference every compiled kernel must
 * equal to the bit, and it plays where none can be compiled.
 */
import { ChannelMemory } from './channel-memory.ts';
import { limitStep } from './devices.ts';
import type { CircuitProgram } from './program.ts';
import { Rescue } from './rescue.ts';
import type { SolverReport } from './solver-report.ts';

/** Plain Newton steps before the rescue. */
const plainSteps = 8;
/** States below this are 0: subnormal numbers would slow the loop. */
const leastState = 1e-30;
/** States above this (volts, amperes) count as not finite. */
const largestState = 1e300;

export class ChannelSolver extends ChannelMemory {
  private readonly rescue: Rescue;

  constructor(program: CircuitProgram, report: SolverReport, channel: number) {
    super(program, report, channel);
    this.rescue = new Rescue(this);
  }

  /**
   * Input volts in, output volts out, in place; every input must be finite. Returns how many frames were done: fewer than asked for if the
   * circuit left the finite numbers in the next one, and then its memory is of no use. Audio thread: allocates nothing, never throws.
   */
  run(buffer: Float64Array, offset: number, frames: number): number {
    const { signal, next, previousStates, ports, volts, currents, jacobian, step, limitedStep, inverseScale, startVolts, report, channel } = this;
    const { topology, devices } = this.program;
    const instance = this.program.instances[0]!;
    const { stateCount: n, controlCount: m, currentCount: r } = topology;
    const { starts: portStarts, columns: portColumns } = topology.portRows;
    const { starts: updateStarts, columns: updateColumns } = topology.updateRows;
    const { portConstants, portCoefficients, updateConstants, updateCoefficients } = instance;
    const { controlOffsets, currentOffsets, count: deviceCount } = devices;
    const firstCurrent = 1 + n;
    const tolerance = this.tolerance;
    let evaluations = 0;
    let maximumEvaluations = 0;
    let done = 0;

    for (let frame = offset; frame < offset + frames; frame += 1) {
      signal[0] = buffer[frame]!;
      for (let row = 0; row < m; row += 1) {
        let sum = portConstants[row]!;
        const end = portStarts[row + 1]!;
        for (let entry = portStarts[row]!; entry < end; entry += 1) sum += portCoefficients[entry]! * signal[portColumns[entry]!]!;
        ports[row] = sum;
      }

      this.evaluations = 0;
      let steps = 0;
      let corrected = true;
      for (;;) {
        // The first pass uses currents and factors left by the last sample: a linear prediction that costs no device evaluation.
        let error = Infinity;
        if (this.factored) {
          this.solveStep();
          error = 0;
          for (let k = 0; k < m; k += 1) {
            const scaled = Math.abs(step[k]! * inverseScale[k]!);
            if (scaled > error || scaled !== scaled) error = scaled;
          }
        }
        if (error < tolerance) break;
        if (steps === 0) for (let k = 0; k < m; k += 1) startVolts[k] = volts[k]!;
        if (steps === plainSteps || !this.factored) {
          corrected = this.rescue.run();
          break;
        }
        limitStep(devices, volts, step, limitedStep);
        for (let k = 0; k < m; k += 1) volts[k] = volts[k]! + limitedStep[k]!;
        this.evaluate();
        this.factored = this.factor();
        steps += 1;
      }

      // The last linear correction goes into the currents alone; v stays where i and J belong.
      if (corrected) {
        let entry = 0;
        for (let d = 0; d < deviceCount; d += 1) {
          const firstControl = controlOffsets[d]!;
          const endControl = controlOffsets[d + 1]!;
          const endCurrent = currentOffsets[d + 1]!;
          for (let i = currentOffsets[d]!; i < endCurrent; i += 1) {
            let sum = currents[i]!;
            for (let c = firstControl; c < endControl; c += 1, entry += 1) sum += jacobian[entry]! * step[c]!;
            signal[firstCurrent + i] = sum;
          }
        }
      } else {
        for (let i = 0; i < r; i += 1) signal[firstCurrent + i] = currents[i]!;
      }

      for (let row = 0; row <= n; row += 1) {
        let sum = updateConstants[row]!;
        const end = updateStarts[row + 1]!;
        for (let entry = updateStarts[row]!; entry < end; entry += 1) sum += updateCoefficients[entry]! * signal[updateColumns[entry]!]!;
        next[row] = sum;
      }
      let finite = Math.abs(next[n]!) <= largestState;
      for (let k = 0; k < n; k += 1) {
        const z = next[k]!;
        const magnitude = Math.abs(z);
        if (!(magnitude <= largestState)) finite = false;
        previousStates[k] = signal[1 + k]!;
        signal[1 + k] = magnitude < leastState ? 0 : z;
      }
      evaluations += this.evaluations;
      if (this.evaluations > maximumEvaluations) maximumEvaluations = this.evaluations;
      if (!finite) break;
      buffer[frame] = next[n]! + 0;
      done += 1;
    }
    report.samples[channel] = report.samples[channel]! + done;
    report.evaluations[channel] = report.evaluations[channel]! + evaluations;
    if (maximumEvaluations > report.maximumEvaluations[channel]!) report.maximumEvaluations[channel] = maximumEvaluations;
    return done;
  }
}

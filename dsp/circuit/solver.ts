/**
 * The readable solver: one channel of one program instance, sample by sample. It is the reference every compiled kernel must
 * equal to the bit, and it plays where none can be compiled.
 */
import { ChannelMemory } from './channel-memory.ts';
import type { CircuitProgram } from './program.ts';
import { Rescue } from './rescue.ts';
import type { SolverReport } from './solver-report.ts';

/** Plain Newton steps before the rescue. */
export const plainSteps = 8;
/** A miss more than a quarter of the step is no bend, and is left out. */
export const leastStepShare = 4;
/** States below this are 0: subnormal numbers would slow the loop. */
export const leastState = 1e-30;
/** States above this (volts, amperes) count as not finite: Newton finds no way back from them, since the steps of tanh pairs are limited, and frozen currents discharge nothing. */
export const largestState = 1e15;
/** Input volts above this count as not finite: their products would leave the numbers. */
export const largestInput = 1e100;

export class ChannelSolver extends ChannelMemory {
  private readonly rescue: Rescue;
  private readonly firstCurrent: number;
  private readonly portStarts: Int32Array;
  private readonly portColumns: Int32Array;
  private readonly portConstants: Float64Array;
  private readonly portCoefficients: Float64Array;
  private readonly updateStarts: Int32Array;
  private readonly updateColumns: Int32Array;
  private readonly updateConstants: Float64Array;
  private readonly updateCoefficients: Float64Array;
  /** Whether `step` may be taken whole. */
  private freeToStep = false;
  /** This sample went over the ports in the end, whatever the form. */
  private rescued = false;
  private readonly single = new Float64Array(1);

  constructor(program: CircuitProgram, report: SolverReport, channel: number, instanceIndex = 0) {
    super(program, report, channel, instanceIndex);
    const { portRows, updateRows, stateCount } = program.topology;
    const { instance } = this;
    this.rescue = new Rescue(this);
    this.firstCurrent = 1 + stateCount;
    this.portStarts = portRows.starts;
    this.portColumns = portRows.columns;
    this.portConstants = instance.portConstants;
    this.portCoefficients = instance.portCoefficients;
    this.updateStarts = updateRows.starts;
    this.updateColumns = updateRows.columns;
    this.updateConstants = instance.updateConstants;
    this.updateCoefficients = instance.updateCoefficients;
  }

  /**
   * Input volts in, output volts out, in place. An input that is not finite, or beyond `largestInput`, is taken as 0 V; a state or output that is not
   * finite gives one sample at the rest output, and on it goes from the operating point. Both are counted. Audio thread: allocates nothing, never
   * throws.
   */
  run(buffer: Float64Array, offset: number, frames: number): void {
    const { signal, next, report, channel } = this;
    const outputRow = next.length - 1;
    let evaluations = 0;
    let maximumEvaluations = 0;
    let nonFinite = 0;
    for (let frame = offset; frame < offset + frames; frame += 1) {
      const input = buffer[frame]!;
      const sound = Math.abs(input) <= largestInput;
      if (!sound) nonFinite += 1;
      signal[0] = sound ? input : 0;
      if (this.nodal === null) this.predictPorts();
      else this.nodal.predict(signal);
      this.solvePorts();
      if (this.nodal === null || this.rescued) this.correctCurrents();
      this.moveCores();
      evaluations += this.evaluations;
      if (this.evaluations > maximumEvaluations) maximumEvaluations = this.evaluations;
      if (this.advance()) buffer[frame] = next[outputRow]! + 0;
      else {
        nonFinite += 1;
        buffer[frame] = this.program.restOutputVolts;
        this.rest();
      }
    }
    report.samples[channel] = report.samples[channel]! + frames;
    report.evaluations[channel] = report.evaluations[channel]! + evaluations;
    report.nonFinite[channel] = report.nonFinite[channel]! + nonFinite;
    if (maximumEvaluations > report.maximumEvaluations[channel]!) report.maximumEvaluations[channel] = maximumEvaluations;
  }

  /**
   * The first step after reset or take-over: two half steps by backward Euler with the *same* matrices, since 2C/h is backward Euler's g
   * at h/2 (start-up damping: Rannacher 1984, from memory). This is the first half; the ordinary step that follows is the second.
   */
  start(meanInputVolts: number): void {
    const { signal, previousStates, program } = this;
    this.single[0] = meanInputVolts;
    this.run(this.single, 0, 1);
    for (let k = 0; k < previousStates.length; k += 1) {
      if (program.stateBackwardEuler[k] === 0) signal[1 + k] = (signal[1 + k]! + previousStates[k]!) / 2;
    }
  }

  /** p = q0 + qu u + D z. */
  protected predictPorts(): void {
    const { signal, ports, portConstants, portCoefficients, portStarts, portColumns } = this;
    let entry = 0;
    for (let row = 0; row < ports.length; row += 1) {
      let sum = portConstants[row]!;
      for (const end = portStarts[row + 1]!; entry < end; entry += 1) sum += portCoefficients[entry]! * signal[portColumns[entry]!]!;
      ports[row] = sum;
    }
  }

  /** Newton over the ports. After a cap hit the last step left is 0: x, i and J are those of another p, and no correction belongs to them. */
  private solvePorts(): void {
    this.evaluations = 0;
    this.rescued = false;
    for (let steps = 0; ; steps += 1) {
      // The first pass uses currents and factors left by the last sample: a linear prediction that costs no device evaluation.
      if (this.factored) {
        this.solveStep();
        if (this.stepIsSmall()) {
          this.rememberMisses(steps === 0);
          return;
        }
      }
      if (steps === plainSteps || !this.factored) {
        if (steps === 0) for (let k = 0; k < this.portVolts.length; k += 1) this.startPortVolts[k] = this.portVolts[k]!;
        this.rememberMisses(true);
        this.rescued = true;
        if (this.nodal !== null) this.predictPorts();
        if (!this.rescue.run()) this.step.fill(0);
        return;
      }
      this.takeStep(steps === 0);
      this.evaluate();
      this.factored = this.factor();
    }
  }

  /** Whether the largest |g| in units of the smallest scale of its controls is below the tolerance; false if any is NaN. Notes whether the step needs limiting. Gives no number, which would be put on the heap. */
  private stepIsSmall(): boolean {
    const { step, inverseScale, freeStep } = this;
    let error = 0;
    let free = true;
    for (let k = 0; k < step.length; k += 1) {
      const magnitude = Math.abs(step[k]!);
      if (!(magnitude <= freeStep[k]!)) free = false;
      const scaled = magnitude * inverseScale[k]!;
      if (scaled > error || scaled !== scaled) error = scaled;
    }
    this.freeToStep = free;
    return error < this.tolerance;
  }

  /**
   * The first step of a sample is the tangent prediction, plus what that is expected to miss where this is small beside it: the bend of a smooth signal
   * changes little from one sample to the next. One evaluation in place of 1.3 to 2 for a 5 kHz tone or a pair near class B; white noise loses a few
   * in a hundred.
   */
  private takeStep(first: boolean): void {
    const { portVolts, step, limitedStep, startPortVolts, predicted, expectedMiss } = this;
    let taken = step;
    if (!this.freeToStep) {
      this.limitPorts();
      taken = limitedStep;
    }
    for (let k = 0; k < portVolts.length; k += 1) {
      const from = portVolts[k]!;
      let to = from + taken[k]!;
      if (first) {
        startPortVolts[k] = from;
        predicted[k] = to;
        const miss = expectedMiss[k]!;
        if (taken[k] === step[k] && leastStepShare * Math.abs(miss) <= Math.abs(taken[k]!)) to += miss;
      }
      portVolts[k] = to;
    }
  }

  /**
   * What the tangent prediction of this sample missed (where it was accepted as it was, and in a rescue: `none`), and what the next is expected to miss:
   * the parabola through the last three.
   */
  private rememberMisses(none: boolean): void {
    const { portVolts, step, predicted, missed, missedBefore, expectedMiss } = this;
    for (let k = 0; k < missed.length; k += 1) {
      const miss = none ? 0 : portVolts[k]! + step[k]! - predicted[k]!;
      expectedMiss[k] = 3 * (miss - missed[k]!) + missedBefore[k]!;
      missedBefore[k] = missed[k]!;
      missed[k] = miss;
    }
  }

  /** c = i + J g into the signal vector. x itself stays where i and J belong. */
  protected correctCurrents(): void {
    const { signal, currents, jacobian, controlStep, firstCurrent } = this;
    this.spreadStep();
    const { count, controlOffsets, currentOffsets } = this.program.devices;
    let entry = 0;
    for (let d = 0; d < count; d += 1) {
      const firstControl = controlOffsets[d]!;
      const endControl = controlOffsets[d + 1]!;
      const endCurrent = currentOffsets[d + 1]!;
      for (let i = currentOffsets[d]!; i < endCurrent; i += 1) {
        let sum = currents[i]!;
        for (let c = firstControl; c < endControl; c += 1, entry += 1) sum += jacobian[entry]! * controlStep[c]!;
        signal[firstCurrent + i] = sum;
      }
    }
  }

  /** New states and output. False: one of them is not finite. */
  private advance(): boolean {
    const { signal, next, previousStates, updateConstants, updateCoefficients, updateStarts, updateColumns } = this;
    const n = previousStates.length;
    if (this.nodal !== null && !this.rescued) this.nodal.advance(signal, next);
    else {
      let entry = 0;
      for (let row = 0; row <= n; row += 1) {
        let sum = updateConstants[row]!;
        for (const end = updateStarts[row + 1]!; entry < end; entry += 1) sum += updateCoefficients[entry]! * signal[updateColumns[entry]!]!;
        next[row] = sum;
      }
    }
    let finite = Math.abs(next[n]!) <= largestState;
    for (let k = 0; k < n; k += 1) {
      const z = next[k]!;
      const magnitude = Math.abs(z);
      if (!(magnitude <= largestState)) finite = false;
      previousStates[k] = signal[1 + k]!;
      signal[1 + k] = magnitude < leastState ? 0 : z;
    }
    return finite;
  }
}

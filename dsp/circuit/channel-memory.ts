/**
 * Memory of one channel of one program instance, and the three steps of its Newton iteration: devices, factors, solution. Public fields,
 * because loop, rescue, carry-over and steady state share them; audio code goes through `CircuitRunner`.
 */
import { evaluateDevices } from './devices.ts';
import type { CircuitProgram } from './program.ts';
import type { SolverReport } from './solver-report.ts';

/** A pivot smaller than this part of its row counts as not converged. */
const leastPivotShare = 1e-12;

/** Error, in units of each control's scale, at which Newton stops: what is left in a current is half its square. */
export const listeningTolerance = 1e-4;
export const measuringTolerance = 1e-6;

/** After construction nothing allocates and nothing throws. */
export class ChannelMemory {
  readonly program: CircuitProgram;
  readonly report: SolverReport;
  readonly channel: number;
  tolerance = listeningTolerance;
  /** [u | z (n) | c (r)]: what the rows are summed over. */
  readonly signal: Float64Array;
  /** z one step earlier, so that the stored quantity of a trapezoidal state is (z + previous)/2. */
  readonly previousStates: Float64Array;
  /** New z, then the output. */
  readonly next: Float64Array;
  /** p of this sample, volts. */
  readonly ports: Float64Array;
  /** Control voltages v, currents i(v) and packed Jacobian, all of the last evaluation. */
  readonly volts: Float64Array;
  readonly currents: Float64Array;
  readonly jacobian: Float64Array;
  /** Newton step g, volts. */
  readonly step: Float64Array;
  readonly limitedStep: Float64Array;
  /** Triangular factors of I − K J in elimination order, reciprocal pivots on the diagonal. */
  readonly factors: Float64Array;
  /** Whether `factors` belong to `jacobian` and are usable. */
  factored = false;
  /** v at the start of this sample, for the rescue. */
  readonly startVolts: Float64Array;
  readonly inverseScale: Float64Array;
  /** Device evaluations of the current sample. */
  evaluations = 0;

  /** Counts into column `channel` of `report`. */
  constructor(program: CircuitProgram, report: SolverReport, channel: number) {
    const { stateCount: n, controlCount: m, currentCount: r } = program.topology;
    this.program = program;
    this.report = report;
    this.channel = channel;
    this.signal = new Float64Array(1 + n + r);
    this.previousStates = new Float64Array(n);
    this.next = new Float64Array(n + 1);
    this.ports = new Float64Array(m);
    this.volts = new Float64Array(m);
    this.currents = new Float64Array(r);
    this.jacobian = new Float64Array(program.devices.jacobianOffsets[program.devices.count]!);
    this.step = new Float64Array(m);
    this.limitedStep = new Float64Array(m);
    this.factors = new Float64Array(m * m);
    this.startVolts = new Float64Array(m);
    this.inverseScale = program.devices.scaleVolts.map((scale) => 1 / scale);
    this.rest();
  }

  /** To the operating point. */
  rest(): void {
    const { stored, controlVolts } = this.program.operatingPoint;
    this.place(stored, controlVolts);
  }

  /** States z (also the previous ones) and the guess v of the control voltages. */
  place(states: Float64Array, controlVolts: Float64Array): void {
    const n = states.length;
    for (let k = 0; k < n; k += 1) {
      this.signal[1 + k] = states[k]!;
      this.previousStates[k] = states[k]!;
    }
    for (let k = 0; k < controlVolts.length; k += 1) this.volts[k] = controlVolts[k]!;
    this.evaluate();
    this.factored = this.factor();
  }

  /** What state k stores now: volts of a capacitor, amperes of an inductor. */
  storedQuantity(k: number): number {
    const z = this.signal[1 + k]!;
    return this.program.stateBackwardEuler[k] === 1 ? z : (z + this.previousStates[k]!) / 2;
  }

  /** i and J at v. */
  evaluate(): void {
    const { volts, currents, jacobian } = this;
    const { devices, shift } = this.program;
    this.evaluations += 1;
    evaluateDevices(devices, volts, currents, jacobian);
    if (shift === null) return;
    const { count, controlOffsets, currentOffsets } = devices;
    let entry = 0;
    for (let d = 0; d < count; d += 1) {
      for (let i = currentOffsets[d]!; i < currentOffsets[d + 1]!; i += 1) {
        let sum = currents[i]!;
        for (let c = controlOffsets[d]!; c < controlOffsets[d + 1]!; c += 1, entry += 1) {
          sum -= shift[entry]! * volts[c]!;
          jacobian[entry] = jacobian[entry]! - shift[entry]!;
        }
        currents[i] = sum;
      }
    }
  }

  /** Builds I − K J in elimination order and factors it there, without exchanges. False: a pivot vanishes. */
  factor(): boolean {
    const { factors, jacobian } = this;
    const { controlCount: m, eliminationOrder, newtonStarts, newtonFeedback, newtonJacobian } = this.program.topology;
    const { feedbackCoefficients } = this.program.instances[0]!;
    for (let row = 0; row < m; row += 1) {
      const at = row * m;
      const pivotColumn = eliminationOrder[row]!;
      let largest = 0;
      for (let c = 0; c < m; c += 1) {
        let sum = c === pivotColumn ? 1 : 0;
        const end = newtonStarts[at + c + 1]!;
        for (let entry = newtonStarts[at + c]!; entry < end; entry += 1) {
          sum -= feedbackCoefficients[newtonFeedback[entry]!]! * jacobian[newtonJacobian[entry]!]!;
        }
        factors[at + c] = sum;
        const magnitude = Math.abs(sum);
        if (magnitude > largest) largest = magnitude;
      }
      for (let k = 0; k < row; k += 1) {
        const multiplier = factors[at + k]! * factors[k * m + k]!;
        factors[at + k] = multiplier;
        for (let c = k + 1; c < m; c += 1) factors[at + c] = factors[at + c]! - multiplier * factors[k * m + c]!;
      }
      const pivot = factors[at + row]!;
      if (!(Math.abs(pivot) >= leastPivotShare * largest)) return false;
      factors[at + row] = 1 / pivot;
    }
    return true;
  }

  /** g = (I − K J)⁻¹ (p − v + K i) into `step`. */
  solveStep(): void {
    const { factors, ports, volts, currents, step } = this;
    const { controlCount: m, eliminationOrder, feedbackRows } = this.program.topology;
    const { starts, columns } = feedbackRows;
    const { feedbackCoefficients } = this.program.instances[0]!;
    for (let k = 0; k < m; k += 1) {
      const row = eliminationOrder[k]!;
      let sum = ports[row]! - volts[row]!;
      const end = starts[row + 1]!;
      for (let entry = starts[row]!; entry < end; entry += 1) sum += feedbackCoefficients[entry]! * currents[columns[entry]!]!;
      const at = k * m;
      for (let c = 0; c < k; c += 1) sum -= factors[at + c]! * step[c]!;
      step[k] = sum;
    }
    for (let k = m - 1; k >= 0; k -= 1) {
      const at = k * m;
      let sum = step[k]!;
      for (let c = k + 1; c < m; c += 1) sum -= factors[at + c]! * step[c]!;
      step[k] = sum * factors[at + k]!;
    }
  }
}

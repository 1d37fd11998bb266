/**
 * Memory of one channel of one program instance, and the three steps of its Newton iteration: devices, factors, solution. Public fields,
 * because loop, rescue, carry-over and steady state share them; audio code goes through `CircuitRunner`.
 */
import { evaluateDevices } from './devices.ts';
import type { CircuitProgram } from './program.ts';
import { factorInOrder, solveInOrder } from './ordered-elimination.ts';
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
  /** Step up to which a control needs no limiting, volts. */
  readonly freeStep: Float64Array;
  /** K in full, m × r, rows in elimination order; what is not in the pattern is 0, and adding 0 changes no bit. */
  readonly feedback: Float64Array;
  readonly eliminationOrder: Int32Array;
  /** Least magnitude of each pivot. */
  readonly rowFloors: Float64Array;
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
    const { scaleVolts, junctionWidthVolts, longestStepVolts } = program.devices;
    this.inverseScale = scaleVolts.map((scale) => 1 / scale);
    this.freeStep = longestStepVolts.map((longest, k) => (junctionWidthVolts[k]! > 0 ? Math.min(longest, 2 * junctionWidthVolts[k]!) : longest));
    this.eliminationOrder = program.topology.eliminationOrder;
    this.feedback = feedbackInOrder(program);
    this.rowFloors = new Float64Array(m);
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

  /** Builds I − K J and factors it without exchanges. False: a pivot vanishes. */
  factor(): boolean {
    this.buildNewtonMatrix();
    return factorInOrder(this.factors, this.volts.length, this.rowFloors);
  }

  /** I − K J in elimination order into `factors`, and what the pivot of each row must reach. */
  buildNewtonMatrix(): void {
    const { count, controlOffsets, currentOffsets } = this.program.devices;
    this.rowFloors.fill(0);
    // Device by device, since a current depends on its own device's controls alone.
    let block = 0;
    for (let d = 0; d < count; d += 1) {
      const controls = controlOffsets[d + 1]! - controlOffsets[d]!;
      const currents = currentOffsets[d + 1]! - currentOffsets[d]!;
      if (controls === 2 && currents === 2) this.addSquareBlock(block, controlOffsets[d]!, currentOffsets[d]!);
      else this.addBlock(block, controlOffsets[d]!, controls, currentOffsets[d]!, currents);
      block += controls * currents;
    }
  }

  private addBlock(block: number, firstControl: number, controls: number, firstCurrent: number, currents: number): void {
    const { factors, jacobian, feedback, eliminationOrder, rowFloors } = this;
    const m = eliminationOrder.length;
    const r = this.currents.length;
    for (let row = 0; row < m; row += 1) {
      const gain = row * r + firstCurrent;
      const pivot = eliminationOrder[row]! - firstControl;
      for (let c = 0; c < controls; c += 1) {
        let sum = c === pivot ? 1 : 0;
        for (let i = 0; i < currents; i += 1) sum -= feedback[gain + i]! * jacobian[block + i * controls + c]!;
        factors[row * m + firstControl + c] = sum;
        const floor = leastPivotShare * Math.abs(sum);
        if (floor > rowFloors[row]!) rowFloors[row] = floor;
      }
    }
  }

  /** `addBlock` written out for two currents and two controls: bipolar transistors, where most of the time would go. */
  private addSquareBlock(block: number, control: number, current: number): void {
    const { factors, jacobian, feedback, eliminationOrder, rowFloors } = this;
    const m = eliminationOrder.length;
    const r = this.currents.length;
    const j00 = jacobian[block]!;
    const j01 = jacobian[block + 1]!;
    const j10 = jacobian[block + 2]!;
    const j11 = jacobian[block + 3]!;
    let gain = current;
    let at = control;
    for (let row = 0; row < m; row += 1, gain += r, at += m) {
      const pivot = eliminationOrder[row]!;
      const k0 = feedback[gain]!;
      const k1 = feedback[gain + 1]!;
      const a = (pivot === control ? 1 : 0) - k0 * j00 - k1 * j10;
      const b = (pivot === control + 1 ? 1 : 0) - k0 * j01 - k1 * j11;
      factors[at] = a;
      factors[at + 1] = b;
      const floorA = leastPivotShare * Math.abs(a);
      const floorB = leastPivotShare * Math.abs(b);
      const floor = floorA > floorB ? floorA : floorB;
      if (floor > rowFloors[row]!) rowFloors[row] = floor;
    }
  }

  /** (p − v) + K i in elimination order into `step`. */
  residual(): void {
    const { ports, volts, currents, step, feedback, eliminationOrder } = this;
    const m = volts.length;
    const r = currents.length;
    let at = 0;
    for (let k = 0; k < m; k += 1) {
      const row = eliminationOrder[k]!;
      let sum = ports[row]! - volts[row]!;
      let i = 0;
      for (; i + 1 < r; i += 2, at += 2) sum = sum + feedback[at]! * currents[i]! + feedback[at + 1]! * currents[i + 1]!;
      if (i < r) {
        sum += feedback[at]! * currents[i]!;
        at += 1;
      }
      step[k] = sum;
    }
  }

  /** g = (I − K J)⁻¹ (p − v + K i) into `step`. */
  solveStep(): void {
    this.residual();
    solveInOrder(this.factors, this.volts.length, this.step);
  }
}

function feedbackInOrder({ topology, instances }: CircuitProgram): Float64Array {
  const { feedbackRows: { starts, columns }, eliminationOrder, currentCount } = topology;
  const full = new Float64Array(eliminationOrder.length * currentCount);
  eliminationOrder.forEach((row, k) => {
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) full[k * currentCount + columns[entry]!] = instances[0]!.feedbackCoefficients[entry]!;
  });
  return full;
}

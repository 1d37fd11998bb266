/**
 * Memory of one channel of one program instance, and the three steps of its Newton iteration: devices, factors, solution. Public fields,
 * because loop, rescue, carry-over and steady state share them; audio code goes through `CircuitRunner`.
 */
import { coreHistoryLength, moveCore, startCore } from './core-law.ts';
import { evaluateDevices, limitStep } from './devices.ts';
import { firstControls } from './ports.ts';
import type { CircuitProgram, ProgramInstance, ProgramTopology } from './program.ts';
import { NodalSolve } from './nodal-solve.ts';
import { factorInPairs, solveInPairs } from './ordered-elimination.ts';
import type { SolverReport } from './solver-report.ts';

/** Error, in units of each control's scale, at which Newton stops: what is left in a current is half its square. */
export const listeningTolerance = 1e-4;
export const measuringTolerance = 1e-6;

/** After construction nothing allocates and nothing throws. */
export class ChannelMemory {
  readonly program: CircuitProgram;
  readonly report: SolverReport;
  readonly channel: number;
  /** The numbers this memory is stepped with. */
  readonly instance: ProgramInstance;
  tolerance = listeningTolerance;
  /** [u | z (n) | c (r)]: what the rows are summed over. */
  readonly signal: Float64Array;
  /** z one step earlier, so that the stored quantity of a trapezoidal state is (z + previous)/2. */
  readonly previousStates: Float64Array;
  /** New z, then the output. */
  readonly next: Float64Array;
  /** p of this sample, volts per port. */
  readonly ports: Float64Array;
  /** x, volts per port. */
  readonly portVolts: Float64Array;
  /** Control voltages v, currents i(v) and packed Jacobian, all of the last evaluation. */
  readonly volts: Float64Array;
  readonly currents: Float64Array;
  readonly jacobian: Float64Array;
  /** Newton step g, volts per port, and what of it may be taken at once. */
  readonly step: Float64Array;
  readonly limitedStep: Float64Array;
  /** Factors of I − K J in elimination order (`factorInPairs`). */
  readonly factors: Float64Array;
  readonly inverses: Float64Array;
  /** The solve goes over the circuit's nodes; null: over the ports. */
  readonly nodal: NodalSolve | null;
  /** Whether `factors` belong to `jacobian` and are usable. */
  factored = false;
  /** Memories of the cores, one after the other (core-law.ts). */
  readonly histories: Float64Array;
  private readonly flux = new Float64Array(1);
  /** x at the start of this sample, for the rescue. */
  readonly startPortVolts: Float64Array;
  /** x as the tangent predicted it in this sample … */
  readonly predicted: Float64Array;
  /** … by how much it missed in the last one and in the one before, and by how much it is expected to miss in this one. */
  readonly missed: Float64Array;
  readonly missedBefore: Float64Array;
  readonly expectedMiss: Float64Array;
  /** Of each port's most sensitive control, 1/V. */
  readonly inverseScale: Float64Array;
  /** Step up to which no control of a port needs limiting, volts. */
  readonly freeStep: Float64Array;
  /** K in full, ports × currents, rows in elimination order; what is not in the pattern is 0, and adding 0 changes no bit. */
  readonly feedback: Float64Array;
  readonly eliminationOrder: Int32Array;
  /** Magnitudes of each row of I − K J, summed. */
  readonly rowSums: Float64Array;
  /** Device evaluations of the current sample. */
  evaluations = 0;
  /** Whether controls share ports. */
  private readonly merged: boolean;
  private readonly controlPorts: Int32Array;
  private readonly controlSigns: Float64Array;
  private readonly controlOffsets: Float64Array;
  /** The control that each port is named by. */
  private readonly firstControls: Int32Array;
  /** g of each control, volts, and what of it may be taken at once. */
  protected readonly controlStep: Float64Array;
  private readonly limitedControlStep: Float64Array;

  /** Of instance `instanceIndex` of the program; counts into column `channel` of `report`. */
  constructor(program: CircuitProgram, report: SolverReport, channel: number, instanceIndex = 0) {
    const { stateCount: n, controlCount: m, portCount, currentCount: r, controlPorts, controlSigns, eliminationOrder } = program.topology;
    this.program = program;
    this.report = report;
    this.channel = channel;
    const instance = program.instances[instanceIndex]!;
    this.instance = instance;
    this.signal = new Float64Array(1 + n + r);
    this.previousStates = new Float64Array(n);
    this.next = new Float64Array(n + 1);
    this.ports = new Float64Array(portCount);
    this.portVolts = new Float64Array(portCount);
    // Where every control has a port of its own, both are the same numbers: one array, nothing to derive.
    this.merged = portCount < m;
    this.volts = this.merged ? new Float64Array(m) : this.portVolts;
    this.currents = new Float64Array(r);
    this.jacobian = new Float64Array(program.devices.jacobianOffsets[program.devices.count]!);
    this.step = new Float64Array(portCount);
    this.limitedStep = new Float64Array(portCount);
    this.factors = new Float64Array(portCount * portCount);
    this.inverses = new Float64Array((portCount + 1) >> 1);
    this.histories = new Float64Array(program.coreStates.length * coreHistoryLength);
    this.startPortVolts = new Float64Array(portCount);
    this.predicted = new Float64Array(portCount);
    this.missed = new Float64Array(portCount);
    this.missedBefore = new Float64Array(portCount);
    this.expectedMiss = new Float64Array(portCount);
    this.inverseScale = new Float64Array(portCount);
    this.freeStep = new Float64Array(portCount).fill(Infinity);
    const { scaleVolts, junctionWidthVolts, longestStepVolts } = program.devices;
    controlPorts.forEach((port, k) => {
      const free = junctionWidthVolts[k]! > 0 ? Math.min(longestStepVolts[k]!, 2 * junctionWidthVolts[k]!) : longestStepVolts[k]!;
      this.inverseScale[port] = Math.max(this.inverseScale[port]!, 1 / scaleVolts[k]!);
      this.freeStep[port] = Math.min(this.freeStep[port]!, free);
    });
    this.eliminationOrder = eliminationOrder;
    this.feedback = feedbackInOrder(program.topology, instance);
    this.rowSums = new Float64Array(portCount);
    this.controlPorts = controlPorts;
    this.controlSigns = controlSigns;
    this.controlOffsets = instance.controlOffsets;
    this.firstControls = firstControls(program.topology);
    const { nodal } = program.topology;
    this.nodal = nodal === null ? null : new NodalSolve(nodal, instance.nodal!, program.devices);
    this.limitedControlStep = new Float64Array(m);
    this.controlStep = this.merged ? new Float64Array(m) : this.step;
    this.rest();
  }

  /** To the operating point. */
  rest(): void {
    const { stored, controlVolts } = this.program.operatingPoint;
    this.place(stored, controlVolts);
  }

  /** States z (also the previous ones), the guess v of the control voltages, and the memories of the cores; null: each was demagnetised and brought to its z. */
  place(states: Float64Array, controlVolts: Float64Array, histories: Float64Array | null = null): void {
    const n = states.length;
    for (let k = 0; k < n; k += 1) {
      this.signal[1 + k] = states[k]!;
      this.previousStates[k] = states[k]!;
    }
    if (histories === null) this.startCores();
    else for (let k = 0; k < this.histories.length; k += 1) this.histories[k] = histories[k]!;
    this.guess(controlVolts);
  }

  private startCores(): void {
    const { devices, coreStates } = this.program;
    for (let core = 0; core < coreStates.length; core += 1) {
      startCore(devices.parameters, devices.parameterOffsets[devices.cores[core]!]!, this.histories, core * coreHistoryLength, this.signal[1 + coreStates[core]!]!);
    }
  }

  /** The memories of the cores move on to the fluxes v + g of the step just solved. */
  protected moveCores(): void {
    const { volts, controlStep, histories, flux } = this;
    const { parameters, parameterOffsets, controlOffsets, cores } = this.program.devices;
    for (let core = 0; core < cores.length; core += 1) {
      const d = cores[core]!;
      const control = controlOffsets[d]!;
      flux[0] = volts[control]! + controlStep[control]!;
      moveCore(parameters, parameterOffsets[d]!, histories, core * coreHistoryLength, flux, 0);
    }
  }

  /** v as first guess: a port takes it from its first control. May be `volts` itself. */
  guess(controlVolts: Float64Array): void {
    for (let k = 0; k < this.portVolts.length; k += 1) {
      this.portVolts[k] = controlVolts[this.firstControls[k]!]!;
      this.missed[k] = 0;
      this.missedBefore[k] = 0;
      this.expectedMiss[k] = 0;
    }
    this.evaluate();
    this.factored = this.factor();
  }

  /** What state k stores now: volts of a capacitor, amperes of an inductor, volt-seconds of a core. */
  storedQuantity(k: number): number {
    const z = this.signal[1 + k]!;
    return this.program.stateBackwardEuler[k] === 1 ? z : (z + this.previousStates[k]!) / 2;
  }

  /** v, i and J at x. */
  evaluate(): void {
    const { volts, currents, jacobian, portVolts, controlPorts, controlSigns, controlOffsets: offsets } = this;
    if (this.merged) for (let k = 0; k < volts.length; k += 1) volts[k] = controlSigns[k]! * portVolts[controlPorts[k]!]! + offsets[k]!;
    const { devices, shift } = this.program;
    this.evaluations += 1;
    evaluateDevices(devices, volts, currents, jacobian, 0, 0, 0, this.histories);
    if (shift !== null) this.takeAway(shift);
  }

  /** What the matrices already hold of the devices. */
  private takeAway(shift: Float64Array): void {
    const { volts, currents, jacobian } = this;
    const { count, controlOffsets, currentOffsets } = this.program.devices;
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

  /** Builds the Newton matrix and factors it without exchanges. False: a pivot vanishes. */
  factor(): boolean {
    if (this.nodal !== null) return this.nodal.factor(this.volts, this.currents, this.jacobian);
    this.buildNewtonMatrix();
    return factorInPairs(this.factors, this.inverses, this.step.length, this.rowSums);
  }

  /** I − K J in elimination order into `factors`, and the sums of its rows. */
  buildNewtonMatrix(): void {
    const { factors, rowSums, eliminationOrder } = this;
    const { count, controlOffsets, currentOffsets } = this.program.devices;
    const size = eliminationOrder.length;
    for (let at = 0; at < factors.length; at += 1) factors[at] = 0;
    for (let row = 0, at = 0; row < size; row += 1, at += size) factors[at + eliminationOrder[row]!] = 1;
    // Device by device, control by control: a port's terms so come by ascending control.
    let block = 0;
    for (let d = 0; d < count; d += 1) {
      const controls = controlOffsets[d + 1]! - controlOffsets[d]!;
      const currents = currentOffsets[d + 1]! - currentOffsets[d]!;
      if (controls === 2 && currents === 2) this.takeSquareBlock(block, controlOffsets[d]!, currentOffsets[d]!);
      else if (controls === 1 && currents === 1) this.takeSlope(block, controlOffsets[d]!, currentOffsets[d]!);
      else this.takeBlock(block, controlOffsets[d]!, controls, currentOffsets[d]!, currents);
      block += controls * currents;
    }
    for (let row = 0, at = 0; row < size; row += 1) {
      let sum = 0;
      for (const end = at + size; at < end; at += 1) sum += Math.abs(factors[at]!);
      rowSums[row] = sum;
    }
  }

  private takeBlock(block: number, firstControl: number, controls: number, firstCurrent: number, currents: number): void {
    const { factors, jacobian, feedback, controlPorts, controlSigns, currents: { length: r } } = this;
    const size = this.eliminationOrder.length;
    for (let c = 0; c < controls; c += 1) {
      const sign = controlSigns[firstControl + c]!;
      const port = controlPorts[firstControl + c]!;
      for (let at = port, gain = firstCurrent; at < factors.length; at += size, gain += r) {
        let sum = factors[at]!;
        for (let i = 0; i < currents; i += 1) sum -= feedback[gain + i]! * (sign * jacobian[block + i * controls + c]!);
        factors[at] = sum;
      }
    }
  }

  /** `takeBlock` for one current and one control: diodes. */
  private takeSlope(entry: number, control: number, current: number): void {
    const { factors, feedback, currents: { length: r } } = this;
    const size = this.eliminationOrder.length;
    const slope = this.controlSigns[control]! * this.jacobian[entry]!;
    for (let at = this.controlPorts[control]!, gain = current; at < factors.length; at += size, gain += r) {
      factors[at] = factors[at]! - feedback[gain]! * slope;
    }
  }

  /** `takeBlock` written out for two currents and two controls: bipolar transistors, where most of the time would go. */
  private takeSquareBlock(block: number, control: number, current: number): void {
    const { factors, jacobian, feedback, controlPorts, controlSigns, currents: { length: r } } = this;
    const size = this.eliminationOrder.length;
    const a = controlSigns[control]!;
    const b = controlSigns[control + 1]!;
    const a0 = a * jacobian[block]!;
    const b0 = b * jacobian[block + 1]!;
    const a1 = a * jacobian[block + 2]!;
    const b1 = b * jacobian[block + 3]!;
    const toSecond = controlPorts[control + 1]! - controlPorts[control]!;
    for (let at = controlPorts[control]!, gain = current; at < factors.length; at += size, gain += r) {
      const k0 = feedback[gain]!;
      const k1 = feedback[gain + 1]!;
      factors[at] = factors[at]! - k0 * a0 - k1 * a1;
      factors[at + toSecond] = factors[at + toSecond]! - k0 * b0 - k1 * b1;
    }
  }

  /** (p − x) + K i in elimination order into `step`. */
  residual(): void {
    const { ports, portVolts, currents, step, feedback, eliminationOrder } = this;
    const r = currents.length;
    for (let k = 0, at = 0; k < step.length; k += 1) {
      const row = eliminationOrder[k]!;
      let sum = ports[row]! - portVolts[row]!;
      for (let i = 0; i < r; i += 1, at += 1) sum += feedback[at]! * currents[i]!;
      step[k] = sum;
    }
  }

  /** g = (I − K J)⁻¹ (p − v + K i) into `step`. */
  solveStep(): void {
    if (this.nodal !== null) {
      this.nodal.solve(this.portVolts, this.step);
      return;
    }
    this.residual();
    solveInPairs(this.factors, this.inverses, this.step.length, this.step);
  }

  /** `step` into `controlStep`. */
  protected spreadStep(): void {
    if (!this.merged) return;
    const { step, controlStep, controlPorts, controlSigns } = this;
    for (let k = 0; k < controlStep.length; k += 1) controlStep[k] = controlSigns[k]! * step[controlPorts[k]!]!;
  }

  /** `step` into `limitedStep`, for each port as far as the most hesitant of its controls may go. */
  limitPorts(): void {
    const { volts, step, limitedStep, controlStep, limitedControlStep, controlPorts, controlSigns } = this;
    this.spreadStep();
    limitStep(this.program.devices, volts, controlStep, limitedControlStep);
    for (let k = 0; k < step.length; k += 1) limitedStep[k] = step[k]!;
    for (let k = 0; k < volts.length; k += 1) {
      const port = controlPorts[k]!;
      if (Math.abs(limitedControlStep[k]!) < Math.abs(limitedStep[port]!)) limitedStep[port] = controlSigns[k]! * limitedControlStep[k]!;
    }
  }
}

function feedbackInOrder(topology: ProgramTopology, { feedbackCoefficients }: ProgramInstance): Float64Array {
  const { feedbackRows: { starts, columns }, eliminationOrder, currentCount } = topology;
  const full = new Float64Array(eliminationOrder.length * currentCount);
  eliminationOrder.forEach((row, k) => {
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) full[k * currentCount + columns[entry]!] = feedbackCoefficients[entry]!;
  });
  return full;
}

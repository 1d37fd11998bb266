/** Newton's iteration for the direct-current equations at one supply level and one leak. Not for the audio thread. */
import { luFactor, luSolve } from '../math/index.ts';
import { evaluateDevices, evaluateSmallSignal, limitStep } from './devices.ts';
import { addDeviceConductances } from './linear-network.ts';
import { replaceRows } from './singularity.ts';
import type { RedundantRow } from './singularity.ts';
import type { CircuitSystem, StampedEquations } from './system.ts';

export interface NewtonPoint {
  readonly outcome: 'found' | 'singular' | 'not-converged';
  readonly w: Float64Array;
  readonly controls: Float64Array;
  readonly iterations: number;
  /** The control furthest from its solution, in units of its scale, at the last iteration; −1: none. */
  readonly worstControl: number;
}

const mostIterations = 100;
/** Of a patient solve, and from which iteration on it looks whether it swings. */
const mostPatientIterations = 200;
const firstDamped = 4;
const leastShare = 0.05;
/** Largest step, in units of each control's scale, at which the point is found. */
const tolerance = 1e-9;
/** Of one that goes to and fro for all iterations without coming closer: rounding of hundreds of volts behind megohms is larger than the tolerance. */
const roundingTolerance = 1e-7;
const largeFluxShare = 1e-3;

/**
 * Solves `(S + leak − Si J(v̂) P) w = α s + Si (i(v̂) − J(v̂) v̂)` repeatedly, v̂ a separate vector of control voltages that moves by
 * limited steps towards P w. (L. W. Nagel 1975, for the limiting.)
 */
export class DirectCurrentNewton {
  /** Right side at full supplies, the held input in it. */
  readonly constant: Float64Array;
  /** What one volt of signal adds to the right side. */
  readonly input: Float64Array;
  private readonly system: CircuitSystem;
  private readonly stamped: StampedEquations;
  private readonly redundant: readonly RedundantRow[];
  private readonly currents: Float64Array;
  private readonly jacobian: Float64Array;

  /** `redundant` is read at each solve: its owner may add to it. */
  constructor(system: CircuitSystem, inputVolts: number, redundant: readonly RedundantRow[]) {
    this.system = system;
    this.redundant = redundant;
    this.stamped = system.stamp({ kind: 'direct-current' });
    this.input = this.stamped.input;
    this.constant = this.stamped.constant.map((value, row) => value + this.input[row]! * inputVolts);
    this.currents = new Float64Array(system.devices.currentCount);
    this.jacobian = new Float64Array(system.devices.jacobianOffsets[system.devices.count]!);
  }

  /** Currents and packed Jacobian for small signals at the given controls, new arrays. */
  devicesAt(controls: Float64Array): { currents: Float64Array; jacobian: Float64Array } {
    evaluateSmallSignal(this.system.devices, controls, this.currents, this.jacobian);
    return { currents: this.currents.slice(), jacobian: this.jacobian.slice() };
  }

  /** The matrix of the iteration at the given controls, redundant rows replaced. */
  matrixAt(controls: Float64Array, leakSiemens: number): Float64Array {
    const { system } = this;
    evaluateDevices(system.devices, controls, this.currents, this.jacobian);
    const matrix = this.stamped.matrix.slice();
    for (let node = 0; node < system.nodeNames.length; node += 1) matrix[node * system.size + node]! += leakSiemens;
    addDeviceConductances(system, this.jacobian, matrix);
    replaceRows(matrix, system.size, this.redundant);
    return matrix;
  }

  /**
   * `patient`: steps that swing to and fro without shrinking are shortened, as they do where an amplifier of much gain looks for its place between two rails.
   */
  solve(start: Float64Array, supply: number, leakSiemens: number, patient = false): NewtonPoint {
    const { system } = this;
    const { size, devices } = system;
    const controls = start.slice();
    const step = new Float64Array(devices.controlCount);
    const pivots = new Int32Array(size);
    let w = new Float64Array(size);
    let worstControl = -1;
    let distance = Infinity;
    const damping = new Damping(devices.scaleVolts);
    const most = patient ? mostPatientIterations : mostIterations;
    for (let iterations = 1; iterations <= most; iterations += 1) {
      const matrix = this.matrixAt(controls, leakSiemens);
      const factors = matrix.slice();
      if (!luFactor(factors, size, pivots)) return { outcome: 'singular', w, controls, iterations, worstControl };
      w = solveRefined(matrix, factors, size, pivots, this.rightSideAt(controls, supply));
      worstControl = this.stepTowards(w, controls, step);
      distance = worstControl < 0 ? 0 : Math.abs(step[worstControl]!) / this.scaleAt(worstControl, controls);
      if (distance < tolerance) {
        for (let k = 0; k < step.length; k += 1) controls[k]! += step[k]!;
        return { outcome: 'found', w, controls, iterations, worstControl };
      }
      if (!(distance < Infinity)) break;
      const share = patient ? damping.share(step, distance, iterations) : 1;
      limitStep(devices, controls, step, step);
      for (let k = 0; k < step.length; k += 1) controls[k]! += share * step[k]!;
    }
    return { outcome: distance < roundingTolerance ? 'found' : 'not-converged', w, controls, iterations: most, worstControl };
  }

  /** `α s + Si (i − J v̂)`, with the currents and Jacobian of the last `matrixAt`. */
  private rightSideAt(controls: Float64Array, supply: number): Float64Array<ArrayBuffer> {
    const { size, devices } = this.system;
    const { current } = this.stamped;
    const side = Float64Array.from(this.constant, (value) => value * supply);
    for (let d = 0; d < devices.count; d += 1) {
      const firstControl = devices.controlOffsets[d]!;
      const width = devices.controlOffsets[d + 1]! - firstControl;
      const firstCurrent = devices.currentOffsets[d]!;
      for (let r = firstCurrent; r < devices.currentOffsets[d + 1]!; r += 1) {
        const block = devices.jacobianOffsets[d]! + (r - firstCurrent) * width;
        let source = this.currents[r]!;
        for (let k = 0; k < width; k += 1) source -= this.jacobian[block + k]! * controls[firstControl + k]!;
        for (let row = 0; row < size; row += 1) side[row]! += current[row * devices.currentCount + r]! * source;
      }
    }
    for (const { row } of this.redundant) side[row] = 0;
    return side;
  }

  /** In what a control's step is judged: its scale, and of a core, whose flux has no supplies to stay between, a thousandth of the flux. */
  private scaleAt(control: number, controls: Float64Array): number {
    const { scaleVolts, cores, controlOffsets } = this.system.devices;
    const scale = scaleVolts[control]!;
    for (const core of cores) if (controlOffsets[core] === control) return Math.max(scale, largeFluxShare * Math.abs(controls[control]!));
    return scale;
  }

  /** `P w − v̂` into `step`; returns the control that is furthest off (the first that is not a number). */
  private stepTowards(w: Float64Array, controls: Float64Array, step: Float64Array): number {
    const { controlRows, controlSigns } = this.system;
    let worst = -1;
    let furthest = -1;
    for (let k = 0; k < step.length; k += 1) {
      const plus = controlRows[2 * k]!;
      const minus = controlRows[2 * k + 1]!;
      step[k] = controlSigns[k]! * ((plus < 0 ? 0 : w[plus]!) - (minus < 0 ? 0 : w[minus]!)) - controls[k]!;
      const distance = Math.abs(step[k]!) / this.scaleAt(k, controls);
      if (distance > furthest || (distance !== distance && furthest === furthest)) {
        furthest = distance;
        worst = k;
      }
    }
    return worst;
  }
}

/**
 * Solution of A w = b, once corrected by its own residual: rows of 1 S and of 1 GS stand side by side here, and without the correction the
 * large ones' rounding reaches the unknowns of the small ones (R. D. Skeel, "Iterative refinement implies numerical stability for Gaussian
 * elimination", 1980, from memory).
 */
function solveRefined(matrix: Float64Array, factors: Float64Array, size: number, pivots: Int32Array, side: Float64Array<ArrayBuffer>): Float64Array<ArrayBuffer> {
  const w = side.slice();
  luSolve(factors, size, pivots, w);
  for (let row = 0; row < size; row += 1) {
    let residual = side[row]!;
    for (let column = 0; column < size; column += 1) residual -= matrix[row * size + column]! * w[column]!;
    side[row] = residual;
  }
  luSolve(factors, size, pivots, side);
  for (let row = 0; row < size; row += 1) w[row]! += side[row]!;
  return w;
}

/** How much of each step to take: less where steps swing and do not shrink, more again afterwards. The rule of the rescue of one sample. */
class Damping {
  private readonly scales: Float64Array;
  private readonly before: Float64Array;
  private distanceBefore = Infinity;
  private value = 1;

  constructor(scales: Float64Array) {
    this.scales = scales;
    this.before = new Float64Array(scales.length);
  }

  share(step: Float64Array, distance: number, iteration: number): number {
    let product = 0;
    for (let k = 0; k < step.length; k += 1) product += (step[k]! * this.before[k]!) / (this.scales[k]! * this.scales[k]!);
    if (iteration >= firstDamped) {
      if (product < 0 && distance > this.distanceBefore / 2) this.value = Math.max(leastShare, this.value / 2);
      else this.value = Math.min(1, this.value * 1.5);
    }
    this.before.set(step);
    this.distanceBefore = distance;
    return this.value;
  }
}

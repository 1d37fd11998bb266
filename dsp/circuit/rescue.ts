/**
 * What happens when plain Newton does not converge in one sample: damping that notices swinging, then a path. The values at the start
 * of the sample solve the ports `p_s = x_s − K i_s` exactly, also in a program just swapped in, so the way from p_s to the wanted p starts on a
 * solution and is walked in pieces. These are pieces of the *input's way*, not of time: the memory advances once.
 */
import type { ChannelMemory } from './channel-memory.ts';

/** The same for loop and kernels. */
export const rescueLimits = {
  dampedSteps: 16,
  /** Steps before damping may set in. */
  freeSteps: 4,
  leastDamping: 0.1,
  divergedError: 1e12,
  /** Of the way from p_s to p: the first piece, and the smallest. */
  firstPart: 1 / 4,
  leastPart: 1 / 65536,
  mostEvaluations: 512,
} as const;
const { dampedSteps, freeSteps, leastDamping, divergedError, firstPart, leastPart, mostEvaluations } = rescueLimits;

/** Preallocated scratch of one channel's rescue. Audio thread: allocates nothing, never throws. */
export class Rescue {
  private readonly solver: ChannelMemory;
  /** p wanted, p_s solved by the start of the sample, x of the last solved point of the way. */
  private readonly wanted: Float64Array;
  private readonly solved: Float64Array;
  private readonly goodVolts: Float64Array;
  private readonly previousStep: Float64Array;
  private readonly matrix: Float64Array;
  private readonly rightSide: Float64Array;

  constructor(solver: ChannelMemory) {
    const m = solver.program.topology.portCount;
    this.solver = solver;
    this.wanted = new Float64Array(m);
    this.solved = new Float64Array(m);
    this.goodVolts = new Float64Array(m);
    this.previousStep = new Float64Array(m);
    this.matrix = new Float64Array(m * m);
    this.rightSide = new Float64Array(m);
  }

  /**
   * Solves the solver's `ports` from its `startPortVolts`. True: x, i, J and the last step g are those of a solution. False: cap hit; x, i and J
   * are those of the last solved point, and no correction must be applied. Leaves `factored` true to J.
   */
  run(): boolean {
    const { solver, wanted, solved, goodVolts } = this;
    const { ports, portVolts, startPortVolts, report, channel } = solver;
    const m = portVolts.length;
    report.rescues[channel] = report.rescues[channel]! + 1;
    for (let k = 0; k < m; k += 1) {
      wanted[k] = ports[k]!;
      portVolts[k] = startPortVolts[k]!;
    }
    solver.evaluate();
    this.portsSolvedBy(solved);
    let converged = this.newton();
    if (!converged) {
      let done = 0;
      let part = firstPart;
      for (let k = 0; k < m; k += 1) goodVolts[k] = startPortVolts[k]!;
      while (done < 1 && part >= leastPart && solver.evaluations <= mostEvaluations) {
        const target = done + part < 1 ? done + part : 1;
        for (let k = 0; k < m; k += 1) {
          ports[k] = target === 1 ? wanted[k]! : solved[k]! + target * (wanted[k]! - solved[k]!);
          portVolts[k] = goodVolts[k]!;
        }
        solver.evaluate();
        if (this.newton()) {
          done = target;
          part *= 2;
          for (let k = 0; k < m; k += 1) goodVolts[k] = portVolts[k]!;
        } else {
          part /= 4;
        }
      }
      converged = done === 1;
      if (!converged) {
        for (let k = 0; k < m; k += 1) portVolts[k] = goodVolts[k]!;
        solver.evaluate();
        report.capHits[channel] = report.capHits[channel]! + 1;
      }
      for (let k = 0; k < m; k += 1) ports[k] = wanted[k]!;
    }
    solver.factored = solver.factor();
    return converged;
  }

  /** x − K i, which the present x solves. */
  private portsSolvedBy(out: Float64Array): void {
    const { portVolts, currents, feedback, eliminationOrder } = this.solver;
    for (let k = 0; k < portVolts.length; k += 1) {
      const row = eliminationOrder[k]!;
      let sum = portVolts[row]!;
      for (let i = 0; i < currents.length; i += 1) sum -= feedback[k * currents.length + i]! * currents[i]!;
      out[row] = sum;
    }
  }

  /** Damped Newton for the solver's `ports` from its x, whose i and J are up to date. */
  private newton(): boolean {
    const { solver, previousStep } = this;
    const { portVolts, step, limitedStep, inverseScale, tolerance } = solver;
    const m = step.length;
    let damping = 1;
    let previousError = Infinity;
    for (let taken = 0; ; taken += 1) {
      if (!this.pivotedStep()) return false;
      let error = 0;
      let turn = 0;
      for (let k = 0; k < m; k += 1) {
        const scaled = step[k]! * inverseScale[k]!;
        const magnitude = Math.abs(scaled);
        if (magnitude > error || magnitude !== magnitude) error = magnitude;
        turn += scaled * (previousStep[k]! * inverseScale[k]!);
      }
      if (error < tolerance) return true;
      if (!(error < divergedError) || taken === dampedSteps) return false;
      if (taken >= freeSteps) {
        const swings = turn < 0 && error > previousError / 2;
        damping = swings ? Math.max(leastDamping, damping / 2) : Math.min(1, 1.5 * damping);
      }
      solver.limitPorts();
      for (let k = 0; k < m; k += 1) {
        portVolts[k] = portVolts[k]! + damping * limitedStep[k]!;
        previousStep[k] = step[k]!;
      }
      previousError = error;
      solver.evaluate();
    }
  }

  /** g as `ChannelMemory.solveStep`, but with row exchanges by magnitude (ties to the lower row). False: singular. */
  private pivotedStep(): boolean {
    const { matrix, rightSide, solver } = this;
    const { step, factors } = solver;
    const m = step.length;
    solver.buildNewtonMatrix();
    solver.residual();
    for (let k = 0; k < m * m; k += 1) matrix[k] = factors[k]!;
    for (let k = 0; k < m; k += 1) rightSide[k] = step[k]!;
    for (let k = 0; k < m; k += 1) {
      let best = k;
      for (let row = k + 1; row < m; row += 1) {
        if (Math.abs(matrix[row * m + k]!) > Math.abs(matrix[best * m + k]!)) best = row;
      }
      const pivot = matrix[best * m + k]!;
      if (!(Math.abs(pivot) > 0)) return false;
      for (let c = 0; c < m; c += 1) {
        const kept = matrix[k * m + c]!;
        matrix[k * m + c] = matrix[best * m + c]!;
        matrix[best * m + c] = kept;
      }
      const keptRight = rightSide[k]!;
      rightSide[k] = rightSide[best]!;
      rightSide[best] = keptRight;
      for (let row = k + 1; row < m; row += 1) {
        const multiplier = matrix[row * m + k]! / pivot;
        for (let c = k + 1; c < m; c += 1) matrix[row * m + c] = matrix[row * m + c]! - multiplier * matrix[k * m + c]!;
        rightSide[row] = rightSide[row]! - multiplier * rightSide[k]!;
      }
    }
    for (let k = m - 1; k >= 0; k -= 1) {
      let sum = rightSide[k]!;
      for (let c = k + 1; c < m; c += 1) sum -= matrix[k * m + c]! * step[c]!;
      step[k] = sum / matrix[k * m + k]!;
    }
    return true;
  }
}

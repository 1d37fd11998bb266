/**
 * The periodic steady state of a driven circuit under its integration rule: each instance is shot alone, fed with the sub-inputs that it would have while playing, and the
 * waveforms are combined as the rule says. Off the audio thread.
 */
import { coreHistoryLength } from './core-law.ts';
import { PeriodRun } from './period-run.ts';
import type { PeriodStart } from './period-run.ts';
import { combinedPeriods, periodOfSubInputs } from './periodic-rule.ts';
import type { CircuitProgram } from './program.ts';
import { growthAtRest, largestRadius } from './rest-growth.ts';
import { settle } from './settling.ts';
import { radiusHere, shoot } from './shooting.ts';

/** Longer periods are not shot with products of Jacobians: each takes 10 µs a sample, and there may be twenty. */
const longestProductFrames = 16_384;

export interface PeriodicInput {
  /** One period of input volts (bias excluded) at the program's rate. */
  readonly input: Float64Array;
  /** Cycles of the tone in it; default 1. Only settling asks, to know which harmonics to watch. */
  readonly cycles?: number;
  /**
   * The input between the samples, where it is to be something else than the cubic that runs while playing: one period at `subSteps` steps a sample, the first at −1 + 1/subSteps.
   */
  readonly between?: (subSteps: 2 | 4) => Float64Array;
}

/** The solution of one instance: all that the same instance of a neighbouring program needs to start from. */
export interface InstanceSteadyState extends PeriodStart {
  /** Steps a sample. */
  readonly subSteps: number;
  /** One period of its own output, absolute volts, all steps: that of sample n is the last of its steps, at (n + 1) · subSteps − 1. */
  readonly output: Float64Array;
  /** What each state stores at the start of the period: volts of a capacitor, amperes of an inductor. */
  readonly stored: Float64Array;
}

export interface SteadyState {
  /** One period of output volts at the program's rate, absolute: what a next stage is fed with. Its harmonics are asked of `steadyHarmonics`. */
  readonly output: Float64Array;
  /** In the order of the program's instances; fewer or none if the circuit oscillates. */
  readonly instances: readonly InstanceSteadyState[];
  /**
   * Largest |eigenvalue| of what a period does to the memory, the worst of the instances, at most 1e15; NaN if it was not wanted. Of a circuit that does not even stay at its operating point:
   * by how much it leaves that in a period. Of one that never repeats itself at least 1.
   */
  readonly spectralRadius: number;
  readonly method: 'shooting' | 'settling';
  /** Passes over the period in all, those of all instances counted alike. */
  readonly periods: number;
  /** Device evaluations a sample of the program, and cap hits, over the period reported; all steps of all instances together. */
  readonly meanIterations: number;
  readonly capHits: number;
  /** The circuit oscillates or is bistable, or never repeated itself: its harmonics mean nothing. */
  readonly oscillates: boolean;
}

export interface SteadyStateOptions {
  /** A neighbour's solution: same wiring, another level or value, perhaps another rule. */
  readonly warmStart?: SteadyState;
  /** Default true. Without it a warm start may cost as little as one period an instance. */
  readonly wantSpectralRadius?: boolean;
  /** Default true: where shooting finds no period the circuit is waited for, which may take thousands of periods. False: it then counts as oscillating. */
  readonly settleIfLost?: boolean;
}

/** All passes at once. */
export function solveSteadyState(program: CircuitProgram, wave: PeriodicInput, options: SteadyStateOptions = {}): SteadyState {
  const steps = solveSteadyStateInSteps(program, wave, options);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** Yields between passes over the period, so that a worker can let go: each is some tens of milliseconds at the most, of 20 Hz through the largest circuits. */
export function* solveSteadyStateInSteps(program: CircuitProgram, wave: PeriodicInput, options: SteadyStateOptions = {}): Generator<void, SteadyState> {
  if (wave.input.length === 0) throw new RangeError('period: expected at least one sample, got none');
  const { warmStart, wantSpectralRadius = true, settleIfLost = true } = options;
  // A neighbour that was asked for no radius has been looked at before.
  const growth = warmStart === undefined || wantSpectralRadius ? growthAtRest(program, wave.input.length) : 1;
  if (growth > 1) return unstableAtRest(program, wave, growth);
  const solved: InstanceSolution[] = [];
  for (let index = 0; index < program.instances.length; index += 1) {
    const start = startOf(program, index, warmStart, solved.at(-1));
    const solution = yield* solveInstance(program, index, wave, { start, wantSpectralRadius, settleIfLost });
    solved.push(solution);
    if (solution.oscillates) break;
  }
  const sum = (value: (solution: InstanceSolution) => number): number => solved.reduce((total, solution) => total + value(solution), 0);
  return {
    output: combinedPeriods(solved),
    instances: solved.map(({ subSteps, output, states, controls, histories, stored, monodromy }) => ({ subSteps, output, states, controls, histories, stored, monodromy })),
    spectralRadius: solved.reduce((largest, { spectralRadius }) => (spectralRadius <= largest ? largest : Math.min(largestRadius, spectralRadius)), -Infinity),
    method: solved.some(({ settled }) => settled) ? 'settling' : 'shooting',
    periods: sum(({ periods }) => periods),
    meanIterations: sum(({ evaluations }) => evaluations) / wave.input.length,
    capHits: sum(({ capHits }) => capHits),
    oscillates: solved.some(({ oscillates }) => oscillates),
  };
}

interface InstanceSolution extends InstanceSteadyState {
  readonly spectralRadius: number;
  readonly settled: boolean;
  readonly oscillates: boolean;
  readonly periods: number;
  readonly evaluations: number;
  readonly capHits: number;
}

function unstableAtRest(program: CircuitProgram, wave: PeriodicInput, growth: number): SteadyState {
  return {
    output: new Float64Array(wave.input.length).fill(program.restOutputVolts), instances: [], spectralRadius: growth, method: 'shooting',
    periods: 0, meanIterations: 0, capHits: 0, oscillates: true,
  };
}

interface InstanceOptions {
  readonly start: PeriodStart | null;
  readonly wantSpectralRadius: boolean;
  readonly settleIfLost: boolean;
}

function* solveInstance(program: CircuitProgram, index: number, wave: PeriodicInput, { start, wantSpectralRadius, settleIfLost }: InstanceOptions): Generator<void, InstanceSolution> {
  const { subSteps } = program.instances[index]!;
  const period = subSteps > 1 && wave.between !== undefined ? wave.between(subSteps as 2 | 4) : periodOfSubInputs(wave.input, subSteps);
  const run = new PeriodRun(program, index, period);
  let shot = yield* shoot(run, start, wantSpectralRadius);
  // A neighbour too far away can lead astray.
  if (!shot.converged && start !== null) shot = yield* shoot(run, null, wantSpectralRadius);
  if (!shot.converged && period.length <= longestProductFrames) shot = yield* shoot(run, null, wantSpectralRadius, 'product');
  const settled = !shot.converged && settleIfLost;
  let { monodromy, spectralRadius } = shot;
  let repeats = shot.converged;
  if (settled) {
    repeats = yield* settle(run, wave.cycles ?? 1);
    if (wantSpectralRadius) ({ monodromy, spectralRadius } = yield* radiusHere(run));
    // Of what never repeats itself no radius below 1 may be told.
    if (!repeats && !(spectralRadius >= 1)) spectralRadius = 1;
  }
  return {
    subSteps, output: run.output, states: run.startStates, controls: run.startControls, histories: run.startHistories, stored: run.endStored, monodromy, spectralRadius, settled,
    oscillates: !repeats || spectralRadius >= 1,
    periods: run.periods, evaluations: run.evaluations, capHits: run.capHits,
  };
}

/**
 * Where shooting begins: the neighbour's solution of the same instance, else the solution of the coarser instance beside it, else (null) the
 * operating point.
 */
function startOf(program: CircuitProgram, index: number, warm: SteadyState | undefined, coarser: InstanceSolution | undefined): PeriodStart | null {
  const { subSteps } = program.instances[index]!;
  const { stateCount, controlCount } = program.topology;
  const historyLength = program.coreStates.length * coreHistoryLength;
  if (warm !== undefined && !warm.oscillates) {
    const same = warm.instances.find((instance) => instance.subSteps === subSteps);
    if (same !== undefined && same.states.length === stateCount && same.controls.length === controlCount && same.histories.length === historyLength) return same;
  }
  return coarser === undefined ? null : atFinerStep(coarser, subSteps);
}

/**
 * A solution as guess for an instance with `subSteps` steps a sample. What a trapezoidal state holds beyond the stored quantity is its current times h/2C (or
 * voltage times h/2L): it shrinks with the step.
 */
export function atFinerStep({ states, controls, histories, stored, monodromy, subSteps: from }: InstanceSteadyState, subSteps: number): PeriodStart {
  const share = from / subSteps;
  return { states: states.map((z, k) => stored[k]! + share * (z - stored[k]!)), controls, histories, monodromy };
}

/**
 * The periodic steady state of a driven circuit by shooting (Aprille, Trick, "Steady-state analysis of nonlinear circuits with periodic inputs",
 * 1972; Kundert, White, Sangiovanni-Vincentelli 1990; both from memory): Newton on the memory at the start of a period, so that a coupling
 * capacitor that would take seconds to settle costs a few periods. Off the audio thread.
 */
import { luFactor, luSolve } from '../math/index.ts';
import { settle } from './settling.ts';
import { PeriodRun } from './period-run.ts';
import type { CircuitProgram } from './program.ts';
import { spectralRadius } from './spectral-radius.ts';

const mostRounds = 20;
/** Largest change over a period, in units of the state, of a circuit that repeats itself. */
const periodicError = 1e-9;
const lostError = 1e6;
/** A radius this near to 1 is worth central differences. */
const doubtfulRadius = 1e-3;

export interface PeriodicInput {
  /** One period of input volts (bias excluded) at the program's rate. */
  readonly input: Float64Array;
  /** Cycles of the tone in it; default 1. Only settling asks, to know which harmonics to watch. */
  readonly cycles?: number;
}

export interface SteadyState {
  /** One period of output volts, absolute. */
  readonly output: Float64Array;
  /** z at the start of the period, and the control voltages with which its first sample begins. */
  readonly states: Float64Array;
  readonly controls: Float64Array;
  /** ∂z(N)/∂z(0), row-major; null if none was needed. */
  readonly monodromy: Float64Array | null;
  /** Largest |eigenvalue| of it; NaN if it was not wanted. */
  readonly spectralRadius: number;
  readonly method: 'shooting' | 'settling';
  /** Periods computed in all. */
  readonly periods: number;
  /** Device evaluations a sample, and cap hits, over the period reported. */
  readonly meanIterations: number;
  readonly capHits: number;
  /** The circuit oscillates or is bistable, or never repeated itself: its harmonics mean nothing. */
  readonly oscillates: boolean;
}

export interface SteadyStateOptions {
  /** A neighbour's solution: same wiring, another level or value. */
  readonly warmStart?: SteadyState;
  /** Default true. Without it a warm start may cost as little as one period. */
  readonly wantSpectralRadius?: boolean;
}

export function solveSteadyState(program: CircuitProgram, wave: PeriodicInput, options: SteadyStateOptions = {}): SteadyState {
  if (wave.input.length === 0) throw new RangeError('period: expected at least one sample, got none');
  const { wantSpectralRadius = true } = options;
  const n = program.topology.stateCount;
  const run = new PeriodRun(program, wave.input);
  const warm = fits(options.warmStart, program) ? options.warmStart : undefined;
  const shot = shoot(run, warm, wantSpectralRadius);
  if (!shot.converged) {
    const settled = settle(run, program, wave.cycles ?? 1);
    const monodromy = differencesOf(run, n, 'one-sided');
    const radius = wantSpectralRadius ? spectralRadius(monodromy, n) : NaN;
    return { ...run.result(), monodromy, spectralRadius: radius, method: 'settling', oscillates: !settled || radius >= 1 };
  }
  let monodromy = shot.monodromy;
  let radius = NaN;
  if (wantSpectralRadius) {
    radius = monodromy === null ? 0 : spectralRadius(monodromy, n);
    if (Math.abs(radius - 1) < doubtfulRadius) {
      monodromy = differencesOf(run, n, 'central');
      radius = spectralRadius(monodromy, n);
    }
  }
  return { ...run.result(), monodromy, spectralRadius: radius, method: 'shooting', oscillates: radius >= 1 };
}

function fits(warm: SteadyState | undefined, { topology }: CircuitProgram): boolean {
  return warm !== undefined && warm.states.length === topology.stateCount && warm.controls.length === topology.controlCount && !warm.oscillates;
}

/** Leaves in `run` the last period computed. */
function shoot(run: PeriodRun, warm: SteadyState | undefined, wantRadius: boolean): { converged: boolean; monodromy: Float64Array | null } {
  const n = run.startStates.length;
  let monodromy: Float64Array | null = warm?.monodromy ?? null;
  if (warm === undefined) {
    if (!run.run()) return { converged: false, monodromy };
    run.advance();
  } else {
    run.startStates.set(warm.states);
    run.startControls.set(warm.controls);
  }
  const factors = new Float64Array(n * n);
  const pivots = new Int32Array(n);
  const step = new Float64Array(n);
  let factored = false;
  let previousError = Infinity;
  for (let round = 0; round < mostRounds; round += 1) {
    if (!run.run()) return { converged: false, monodromy };
    const error = run.periodError();
    if (error < periodicError) {
      if (n > 0 && wantRadius) monodromy = differencesOf(run, n, 'one-sided');
      return { converged: true, monodromy };
    }
    if (!(error < lostError)) return { converged: false, monodromy };
    if (monodromy === null || error > previousError / 10) {
      monodromy = differencesOf(run, n, 'one-sided');
      factored = false;
    }
    if (!factored) {
      for (let k = 0; k < n * n; k += 1) factors[k] = -monodromy[k]!;
      for (let k = 0; k < n; k += 1) factors[k * n + k] = 1 + factors[k * n + k]!;
      if (!luFactor(factors, n, pivots)) return { converged: false, monodromy };
      factored = true;
    }
    for (let k = 0; k < n; k += 1) step[k] = run.endStates[k]! - run.startStates[k]!;
    luSolve(factors, n, pivots, step);
    for (let k = 0; k < n; k += 1) run.startStates[k] = run.startStates[k]! + step[k]!;
    run.startControls.set(run.endControls);
    previousError = error;
  }
  return { converged: false, monodromy };
}

/**
 * ∂z(N)/∂z(0) at the period last run, column by column, all from the same guess of the control voltages. One-sided errors are about 2e-6, central
 * ones 1e-7. Leaves the run's period and counts of it untouched.
 */
function differencesOf(run: PeriodRun, n: number, kind: 'one-sided' | 'central'): Float64Array {
  const { stateUnits } = run.program;
  const monodromy = new Float64Array(n * n);
  for (let k = 0; k < n; k += 1) {
    const unit = stateUnits[k]!;
    const d = kind === 'central' ? 1e-4 * unit : 1e-6 * Math.max(unit, Math.abs(run.startStates[k]!) / 10);
    const above = run.displaced(k, d);
    const below = kind === 'central' ? run.displaced(k, -d) : run.endStates;
    const width = kind === 'central' ? 2 * d : d;
    for (let row = 0; row < n; row += 1) monodromy[row * n + k] = (above[row]! - below[row]!) / width;
  }
  return monodromy;
}

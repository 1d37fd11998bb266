/**
 * The periodic steady state of one instance by shooting (Aprille, Trick, "Steady-state analysis of nonlinear circuits with periodic inputs",
 * 1972; Kundert, White, Sangiovanni-Vincentelli 1990; both from memory): Newton on the memory at the start of a period, so that a coupling
 * capacitor that would take seconds to settle costs a few periods. Off the audio thread.
 */
import { luFactor, luSolve } from '../math/index.ts';
import type { Displacement, PeriodRun, PeriodStart } from './period-run.ts';
import { spectralRadius } from './spectral-radius.ts';

const mostRounds = 20;
/** Largest change over a period, in units of the state, of a circuit that repeats itself. */
const periodicError = 1e-9;
/** What is worth going on for: a change of 1e-9 over a period is a ramp whose harmonics stand at −110 dB of a tone at −60 dBu. Rounding leaves less than this. */
const finestError = 1e-13;
const mostFinishingRounds = 2;
const lostError = 1e6;
/** A radius this near to 1 is worth central differences. */
const doubtfulRadius = 1e-3;
/** These tell it from 1 only this far away; nearer still the product of the steps' Jacobians is asked. */
const resolvedRadius = 1e-5;

/** Where ∂z(N)/∂z(0) comes from: differences cost a pass for two columns, the product some fifty. */
export type Columns = 'differences' | 'product';

export interface Shot {
  readonly converged: boolean;
  /** The last one made, or the warm start's; null if none was needed. */
  readonly monodromy: Float64Array | null;
  /** Largest |eigenvalue| of it at the solution; NaN if it was not wanted or nothing converged. */
  readonly spectralRadius: number;
}

/**
 * Leaves in `run` the last period computed; yields between passes over it. `warm` is a neighbour's solution; null starts at the operating point. Differences miss a memory that loses less than 1e-6 a period (0.1 F behind 100 kΩ at
 * 8 kHz): there the product finds the way.
 */
export function* shoot(run: PeriodRun, warm: PeriodStart | null, wantSpectralRadius: boolean, columns: Columns = 'differences'): Generator<void, Shot> {
  const n = run.startStates.length;
  let monodromy = warm?.monodromy ?? null;
  const lost = (): Shot => ({ converged: false, monodromy, spectralRadius: NaN });
  if (warm === null) {
    run.startAtRest();
    if (!run.run()) return lost();
    yield;
    run.advance();
  } else {
    run.startFrom(warm);
  }
  const factors = new Float64Array(n * n);
  const pivots = new Int32Array(n);
  const step = new Float64Array(n);
  let factored = false;
  let previousError = Infinity;
  let finishingRounds = 0;
  for (let round = 0; round < mostRounds; round += 1) {
    if (!run.run()) return lost();
    yield;
    const error = run.periodError();
    const repeats = error < periodicError;
    const finished = error < finestError || finishingRounds === mostFinishingRounds || (finishingRounds > 0 && error > previousError / 10);
    if (repeats && finished) {
      if (!wantSpectralRadius) return { converged: true, monodromy, spectralRadius: NaN };
      return { converged: true, ...(yield* radiusHere(run)) };
    }
    if (!(error < lostError)) return lost();
    if (repeats) finishingRounds += 1;
    if (monodromy === null || (!repeats && error > previousError / 10)) {
      monodromy = columns === 'product' ? yield* run.exactMonodromy() : yield* monodromyHere(run, 'one-sided');
      factored = false;
    }
    if (!factored) {
      for (let k = 0; k < n * n; k += 1) factors[k] = -monodromy[k]!;
      for (let k = 0; k < n; k += 1) factors[k * n + k] = 1 + factors[k * n + k]!;
      if (!luFactor(factors, n, pivots)) return lost();
      factored = true;
    }
    for (let k = 0; k < n; k += 1) step[k] = run.endStates[k]! - run.startStates[k]!;
    luSolve(factors, n, pivots, step);
    for (let k = 0; k < n; k += 1) run.startStates[k] = run.startStates[k]! + step[k]!;
    run.startControls.set(run.endControls);
    run.advanceHistories();
    previousError = error;
  }
  return lost();
}

/** ∂z(N)/∂z(0) at the period last run and its spectral radius, the more exactly the nearer that lies to 1. Yields between passes. */
export function* radiusHere(run: PeriodRun): Generator<void, { monodromy: Float64Array; spectralRadius: number }> {
  const n = run.startStates.length;
  let monodromy = yield* monodromyHere(run, 'one-sided');
  let radius = spectralRadius(monodromy, n);
  if (Math.abs(radius - 1) < doubtfulRadius) {
    monodromy = yield* monodromyHere(run, 'central');
    radius = spectralRadius(monodromy, n);
  }
  if (Math.abs(radius - 1) < resolvedRadius) {
    monodromy = yield* run.exactMonodromy();
    radius = spectralRadius(monodromy, n);
  }
  return { monodromy, spectralRadius: radius };
}

/**
 * ∂z(N)/∂z(0) at the period last run, column by column, all from the same guess of the control voltages. One-sided errors are about 2e-6, central
 * ones 1e-7. Leaves the run's period and counts of it untouched.
 */
function* monodromyHere(run: PeriodRun, kind: 'one-sided' | 'central'): Generator<void, Float64Array> {
  const { stateUnits } = run.program;
  const n = stateUnits.length;
  const widths = Float64Array.from(stateUnits, (unit, k) => (kind === 'central' ? 1e-4 * unit : 1e-6 * Math.max(unit, Math.abs(run.startStates[k]!) / 10)));
  const moved = (sign: 1 | -1): Displacement[] => Array.from(widths, (width, state) => ({ state, by: sign * width }));
  const above = yield* run.displaced(moved(1));
  const below = kind === 'central' ? yield* run.displaced(moved(-1)) : above.map(() => run.endStates);
  const monodromy = new Float64Array(n * n);
  for (let k = 0; k < n; k += 1) {
    const width = kind === 'central' ? 2 * widths[k]! : widths[k]!;
    for (let row = 0; row < n; row += 1) monodromy[row * n + k] = (above[k]![row]! - below[k]![row]!) / width;
  }
  return monodromy;
}

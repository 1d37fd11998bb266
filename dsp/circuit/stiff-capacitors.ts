/**
 * Which capacitors step by backward Euler. The trapezoidal rule turns a mode much faster than the step into one that alternates from sample to
 * sample and hardly decays; backward Euler on the one capacitor that carries it ends the ringing, where that costs next to nothing.
 * No source: our own rule, with thresholds from measurements on eleven circuits.
 */
import { exp, log, ratioToDecibels } from '../math/index.ts';
import type { LinearStep } from './linearise.ts';
import { linearise, responseOf } from './linearise.ts';
import type { BackwardEulerChoice } from './program.ts';
import type { ReducedEquations } from './reduce.ts';
import { growingRadius, spectralRadius } from './spectral-radius.ts';
import type { StateElement } from './system.ts';

/** A mode decaying slower than this per sample, with alternating sign, is worth curing. */
const alternatingRatioLimit = -0.9;
/** A capacitor must carry this share of the mode. */
const leastParticipation = 0.1;
/** Largest change of the small-signal response that the cure may cost. */
const responseLimitDb = 0.005;
const judgedAtHz = [20000, 50000];
/** No judging above this part of the rate: the highest frequencies are the rule's own affair. */
const highestJudgedShare = 0.45;

export interface StiffCapacitorReport {
  /** One flag per state. */
  readonly flags: Uint8Array;
  readonly choices: readonly BackwardEulerChoice[];
}

/**
 * `build(flags)` reduces the circuit with these flags; `jacobians` are the dense device Jacobians (currents × controls) at each
 * bias judged, that at rest first. A circuit that does not stay at rest keeps all its capacitors trapezoidal. Off the audio thread; a circuit of n states costs a few n³ operations per bias and mode.
 */
export function chooseBackwardEuler(
  build: (flags: Uint8Array) => ReducedEquations, jacobians: readonly Float64Array[], states: readonly StateElement[], stepSeconds: number,
): StiffCapacitorReport {
  let flags = new Uint8Array(states.length);
  const refused = new Uint8Array(states.length);
  const choices: BackwardEulerChoice[] = [];
  let current = linearised(build(flags), jacobians);
  const reference = current;
  // A growing mode faster than the step alternates, too: cured, a latching pair would look like an amplifier.
  const [atRest] = reference;
  if (atRest !== undefined && spectralRadius(atRest.memory, states.length) > growingRadius) return { flags, choices };
  for (;;) {
    let worst: AlternatingMode | null = null;
    for (const step of current) {
      const mode = mostAlternating(step, (k) => states[k]!.kind === 'capacitor' && flags[k] === 0 && refused[k] === 0);
      if (mode !== null && (worst === null || mode.ratio < worst.ratio)) worst = mode;
    }
    if (worst === null) return { flags, choices };
    const tried = Uint8Array.from(flags);
    tried[worst.state] = 1;
    const candidate = linearised(build(tried), jacobians);
    const errorDb = responseChangeDb(reference, candidate, stepSeconds);
    if (errorDb <= responseLimitDb) {
      flags = tried;
      current = candidate;
      choices.push({ name: states[worst.state]!.name, ratio: worst.ratio, errorDb });
    } else {
      refused[worst.state] = 1;
    }
  }
}

function linearised(reduced: ReducedEquations, jacobians: readonly Float64Array[]): LinearStep[] {
  return jacobians.map((jacobian) => linearise(reduced, jacobian)).filter((step) => step !== null);
}

function responseChangeDb(reference: readonly LinearStep[], candidate: readonly LinearStep[], stepSeconds: number): number {
  if (reference.length !== candidate.length) return Infinity;
  let worst = 0;
  for (let bias = 0; bias < reference.length; bias += 1) {
    for (const wantedHz of judgedAtHz) {
      const hz = Math.min(wantedHz, highestJudgedShare / stepSeconds);
      const [a, b] = responseOf(reference[bias]!, hz, stepSeconds);
      const [c, d] = responseOf(candidate[bias]!, hz, stepSeconds);
      const before = Math.sqrt(a * a + b * b);
      const after = Math.sqrt(c * c + d * d);
      // Nothing comes out at all (a bias of complete cut-off): nothing to compare.
      if (before < 1e-12 && after < 1e-12) continue;
      const changeDb = Math.abs(ratioToDecibels(after / before));
      if (!(changeDb <= worst)) worst = Number.isNaN(changeDb) ? Infinity : changeDb;
    }
  }
  return worst;
}

interface AlternatingMode {
  readonly ratio: number;
  readonly state: number;
}

/**
 * The most alternating mode of `step` below the limit whose most participating eligible state carries enough of it; null: none.
 * X = (I − A)/2 maps an eigenvalue −1 to 1 and +1 to 0, so that a high power of X leaves the alternating mode alone.
 */
function mostAlternating(step: LinearStep, eligible: (state: number) => boolean): AlternatingMode | null {
  const n = step.stateCount;
  let x = new Float64Array(n * n);
  for (let k = 0; k < n * n; k += 1) x[k] = -step.memory[k]! / 2;
  for (let k = 0; k < n; k += 1) x[k * n + k] = x[k * n + k]! + 0.5;
  for (let removed = 0; removed < n; removed += 1) {
    const { power, logScale } = power1024(x, n);
    let trace = 0;
    for (let k = 0; k < n; k += 1) trace += power[k * n + k]!;
    if (!(Math.abs(trace) > 0)) return null;
    const ratio = 1 - 2 * exp((log(Math.abs(trace)) + logScale) / 1024);
    if (!(ratio < alternatingRatioLimit)) return null;
    let state = -1;
    let share = leastParticipation;
    for (let k = 0; k < n; k += 1) {
      const participation = power[k * n + k]! / trace;
      if (eligible(k) && participation >= share) {
        state = k;
        share = participation;
      }
    }
    if (state >= 0) return { ratio, state };
    const projected = multiply(x, power, n);
    x = x.map((value, k) => value - projected[k]! / trace);
  }
  return null;
}

/** x^1024 by ten squarings as `power · e^logScale`. */
function power1024(x: Float64Array, n: number): { power: Float64Array; logScale: number } {
  let power = x;
  let logScale = 0;
  for (let squaring = 0; squaring < 10; squaring += 1) {
    power = multiply(power, power, n);
    logScale *= 2;
    let largest = 0;
    for (const value of power) largest = Math.max(largest, Math.abs(value));
    if (!(largest > 0)) break;
    for (let k = 0; k < power.length; k += 1) power[k] = power[k]! / largest;
    logScale += log(largest);
  }
  return { power, logScale };
}

function multiply(a: Float64Array, b: Float64Array, n: number): Float64Array<ArrayBuffer> {
  const product = new Float64Array(n * n);
  for (let row = 0; row < n; row += 1) {
    for (let c = 0; c < n; c += 1) {
      let sum = 0;
      for (let k = 0; k < n; k += 1) sum += a[row * n + k]! * b[k * n + c]!;
      product[row * n + c] = sum;
    }
  }
  return product;
}

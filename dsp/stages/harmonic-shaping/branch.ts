/**
 * One sample of the shaping branch, and its memory. Shared by the running stage and by its periodic steady state, so that both are the same law.
 * Audio thread: nothing here allocates, throws or waits.
 */
import { saturate } from './law.ts';
import { at } from './program.ts';

/** Below this a state is silence: denormal numbers are slow. */
const silence = 1e-30;

const masked = (x: number): number => (x < silence && x > -silence ? 0 : x);

/** Second-order Butterworth low-pass, trapezoidal integrators at `state[k]`, `state[k + 1]`; g = tan(π f/rate). */
export function stepBandLimit(state: Float64Array, k: number, g: number, x: number): number {
  const first = state[k]!;
  const second = state[k + 1]!;
  const v1 = (first + g * (x - second)) / (1 + g * (g + Math.SQRT2));
  const v2 = second + g * v1;
  state[k] = masked(2 * v1 - first);
  state[k + 1] = masked(2 * v2 - second);
  return v2;
}

/** First-order high-pass with its zero at DC; `state[k]` is the slow part it takes away. `pole` = (1 − g)/(1 + g). */
export function stepBlocking(state: Float64Array, k: number, pole: number, x: number): number {
  const share = (1 - pole) / 2;
  const slow = state[k]!;
  const low = share * x + slow;
  state[k] = masked(share * x + pole * low);
  return x - low;
}

/** First-order all-pass (c − z⁻¹)/(1 − c z⁻¹), one state. */
export function stepAllPass(state: Float64Array, k: number, c: number, x: number): number {
  const y = c * x + state[k]!;
  state[k] = masked(c * y - x);
  return y;
}

/** Even part of the polynomial law, V; `s` is the saturated branch signal. */
export function polynomialEven(parameters: Float64Array, s: number): number {
  return ((2 * parameters[at.second]!) / parameters[at.referencePeakVolts]!) * s * s;
}

/** Odd part of the polynomial law, V. */
export function polynomialOdd(parameters: Float64Array, s: number): number {
  const a = s / parameters[at.referencePeakVolts]!;
  return 4 * parameters[at.third]! * a * a * s;
}

/** Envelope |z| of the analytic signal, never below the branch signal itself, so that x / envelope stays within ±1 on any transient. */
export function envelopeOf(first: number, second: number, x: number): number {
  const magnitude = Math.sqrt(first * first + second * second);
  const size = Math.abs(x);
  return size > magnitude ? size : magnitude;
}

/** Even part of the held law: h2 E T2(x/E), falling below the floor and held at the ceiling. */
export function heldEven(parameters: Float64Array, x: number, envelope: number): number {
  const floor = parameters[at.floorVolts]!;
  const regular = Math.sqrt(envelope * envelope + floor * floor);
  return (heldShare(parameters, envelope) * parameters[at.second]! * (2 * x * x - envelope * envelope)) / regular;
}

/** Odd part of the held law: h3 E T3(x/E); its fundamental is zero, so the gain of a tone is one. */
export function heldOdd(parameters: Float64Array, x: number, envelope: number): number {
  const floor = parameters[at.floorVolts]!;
  const square = envelope * envelope;
  return (heldShare(parameters, envelope) * parameters[at.third]! * x * (4 * x * x - 3 * square)) / (square + floor * floor);
}

function heldShare(parameters: Float64Array, envelope: number): number {
  const ceiling = parameters[at.ceilingVolts]!;
  return envelope > ceiling ? saturate(envelope, ceiling, parameters[at.kneeVolts]!) / envelope : 1;
}

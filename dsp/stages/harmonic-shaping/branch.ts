/**
 * One sample of the shaping branch, and its memory. Shared by the running stage and by its periodic steady state, so that both are the same law.
 * Audio thread: nothing here allocates, throws or waits.
 */
import { saturate } from './law.ts';
import { at } from './program.ts';

/** Below this a state is silence: denormal numbers are slow. */
export const silence = 1e-30;

const masked = (x: number): number => (x < silence && x > -silence ? 0 : x);

/** Second-order Butterworth low-pass, trapezoidal integrators at `state[k]`, `state[k + 1]`. */
export function stepBandLimit(state: Float64Array, k: number, parameters: Float64Array, x: number): number {
  const g = parameters[at.bandLimit]!;
  const first = state[k]!;
  const second = state[k + 1]!;
  const v1 = (first + g * (x - second)) * parameters[at.bandLimitShare]!;
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

/**
 * Where a sample's intermediate volts stand while the branch is computed. They go through an array, not through arguments and results: a number handed to
 * or from a call that the engine does not inline is allocated.
 */
export const scratchAt = { limited: 0, first: 1, second: 2, even: 3, odd: 4 } as const;
export const scratchSize = 5;

/** Even and odd part of the polynomial law from the band-limited signal. */
export function polynomialParts(parameters: Float64Array, scratch: Float64Array): void {
  const reference = parameters[at.referencePeakVolts]!;
  const s = saturate(scratch[scratchAt.limited]!, parameters[at.ceilingVolts]!, parameters[at.kneeVolts]!);
  const a = s / reference;
  scratch[scratchAt.even] = 2 * parameters[at.second]! * a * s;
  scratch[scratchAt.odd] = 4 * parameters[at.third]! * a * a * s;
}

/**
 * Even and odd part of the held law, h2 E T2(x/E) and h3 E T3(x/E): falling below the floor, held at the ceiling; the odd part has no fundamental, so the gain of a tone
 * is one. E is the magnitude of the analytic signal (`first`, `second`), but never less than |x|, so that x/E stays within ±1 on any transient.
 */
export function heldParts(parameters: Float64Array, scratch: Float64Array): void {
  const x = scratch[scratchAt.limited]!;
  const first = scratch[scratchAt.first]!;
  const second = scratch[scratchAt.second]!;
  const square = Math.max(x * x, first * first + second * second);
  const floor = parameters[at.floorVolts]!;
  const regular = square + floor * floor;
  const envelope = Math.sqrt(square);
  const ceiling = parameters[at.ceilingVolts]!;
  const share = envelope > ceiling ? saturate(envelope, ceiling, parameters[at.kneeVolts]!) / envelope : 1;
  scratch[scratchAt.even] = (share * parameters[at.second]! * (2 * x * x - square)) / Math.sqrt(regular);
  scratch[scratchAt.odd] = (share * parameters[at.third]! * x * (4 * x * x - 3 * square)) / regular;
}

import { sin } from '../math/index.ts';

/** Length of every fade: switches, values, structure. */
export const fadeSeconds = 0.01;

/** Base frames of a fade at this rate: 480 at 48 kHz. */
export function fadeFrames(baseRateHz: number): number {
  return Math.max(1, Math.round(fadeSeconds * baseRateHz));
}

/**
 * Weights of an equal-gain fade, `steps + 1` values from exactly 0 to exactly 1, w[k] + w[steps − k] = 1 to the bit (the same in each
 * direction): t − sin(2πt)/(2π). Its slope is a Hann window, so a change of δ spreads less than δ/40 beyond 2/(10 ms) = 200 Hz from each
 * component (side lobes of the Hann window, −31.5 dB and falling 18 dB per octave), where a straight fade's stay at −13 dB and fall 6.
 */
export function fadeWeights(steps: number): Float64Array {
  const weights = new Float64Array(steps + 1);
  for (let k = 0; 2 * k < steps; k += 1) {
    const t = k / steps;
    weights[k] = t - sin(2 * Math.PI * t) / (2 * Math.PI);
    weights[steps - k] = 1 - weights[k]!;
  }
  if (steps % 2 === 0) weights[steps / 2] = 0.5;
  weights[0] = 0;
  weights[steps] = 1;
  return weights;
}

/**
 * `into = w · into + (1 − w) · other` over a block; sample i has the weight at `position + (i + 1) · step` steps (step −1, 0 or 1), held at the
 * ends. A weight of exactly 1 or 0 passes one side untouched. Audio thread: allocates nothing.
 */
export function crossfade(
  into: Float64Array, other: Float64Array, frames: number, weights: Float64Array, position: number, step: number,
): void {
  const last = weights.length - 1;
  if (position >= last && step >= 0) return;
  for (let i = 0; i < frames; i += 1) {
    const at = position + step * (i + 1);
    const weight = weights[at < 0 ? 0 : at > last ? last : at]!;
    if (weight === 0) into[i] = other[i]!;
    else if (weight !== 1) into[i] = weight * into[i]! + (1 - weight) * other[i]! + 0;
  }
}

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
export function fadeWeights(steps: number, into: Float64Array = new Float64Array(steps + 1)): Float64Array {
  for (let k = 0; 2 * k < steps; k += 1) {
    const t = k / steps;
    into[k] = t - sin(2 * Math.PI * t) / (2 * Math.PI);
    into[steps - k] = 1 - into[k]!;
  }
  if (steps % 2 === 0) into[steps / 2] = 0.5;
  into[0] = 0;
  into[steps] = 1;
  return into;
}

/** Test signals in volts, seeded. */
import { SeededRandom } from '../../../dsp/math/index.ts';
import { rateHz } from './tone.ts';

export const sine = (frames: number, hz: number, peakVolts: number): Float64Array =>
  Float64Array.from({ length: frames }, (_, n) => peakVolts * Math.sin((2 * Math.PI * hz * n) / rateHz));

/** White at the internal rate, uniform within ±peak. */
export function noise(frames: number, peakVolts: number, seed: number): Float64Array {
  const random = new SeededRandom(seed);
  return Float64Array.from({ length: frames }, () => peakVolts * (2 * random.nextUnit() - 1));
}

export const square = (frames: number, hz: number, peakVolts: number): Float64Array =>
  sine(frames, hz, 1).map((x) => (x >= 0 ? peakVolts : -peakVolts));

export const sum = (a: Float64Array, b: Float64Array): Float64Array => a.map((x, n) => x + b[n]!);

/** One cycle of what a subject puts out, in the order of its phase, however many cycles its period holds. */
import { projectHarmonics, type CoherentFrequency } from '../../circuit/index.ts';
import { cos, pow10 } from '../../math/index.ts';

export interface Cycle {
  /** Input and output at the phases 2π p / N of the input's cosine, volts. */
  readonly input: Float64Array;
  readonly output: Float64Array;
  /** Output without its mean and fundamental. */
  readonly residual: Float64Array;
  readonly meanVolts: number;
  readonly fundamental: { readonly peakVolts: number; readonly phaseRadians: number };
}

/** Sample i of a period of M cycles in N samples lies at phase (M i mod N)/N: M and N have no common divisor, so that the samples are N phases of one cycle. */
export function cycleOf({ cycles, periodFrames }: CoherentFrequency, input: Float64Array, output: Float64Array): Cycle {
  const { dcVolts, amplitudes, phases } = projectHarmonics(output, cycles, [1]);
  const peakVolts = amplitudes[0]!;
  const phaseRadians = phases[0]!;
  const ordered = (wave: Float64Array): Float64Array => {
    const sorted = new Float64Array(periodFrames);
    for (let i = 0; i < periodFrames; i += 1) sorted[(cycles * i) % periodFrames] = wave[i]!;
    return sorted;
  };
  const inOrder = ordered(output);
  return {
    input: ordered(input), output: inOrder, meanVolts: dcVolts, fundamental: { peakVolts, phaseRadians },
    residual: inOrder.map((volts, p) => volts - dcVolts - peakVolts * cos((2 * Math.PI * p) / periodFrames + phaseRadians)),
  };
}

export const largestOf = (values: ArrayLike<number>): number => {
  let largest = 0;
  for (let k = 0; k < values.length; k += 1) if (Math.abs(values[k]!) > largest) largest = Math.abs(values[k]!);
  return largest;
};

export function rmsOf(values: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < values.length; k += 1) sum += values[k]! * values[k]!;
  return Math.sqrt(sum / values.length);
}

/** Smallest of 1, 2, 5, 10, 20, … times a power of ten that is not below `value` > 0; 1 of nothing. */
export function roundUp(value: number): number {
  if (!(value > 0 && value < Infinity)) return 1;
  for (let exponent = -18; exponent < 18; exponent += 1) {
    for (const digit of [1, 2, 5]) {
      const step = digit * pow10(exponent);
      if (step >= value * (1 - 1e-12)) return step;
    }
  }
  return value;
}

/** Largest of the same series that is not above `value`. */
export function roundDown(value: number): number {
  const above = roundUp(value);
  return above <= value * (1 + 1e-12) ? above : 1 / roundUp(1 / value);
}

/** An integration rule over one period: what its instances are fed with, and what their outputs make together. Indices wrap round the period. */
import { blockLoops, historyLength } from './sub-steps.ts';

/** One period of the input of an instance with `subSteps` steps a sample, as the causal cubic makes it while playing. */
export function periodOfSubInputs(input: Float64Array, subSteps: 1 | 2 | 4): Float64Array {
  const frames = input.length;
  if (subSteps === 1) return input;
  const history = Float64Array.from({ length: historyLength }, (_, k) => input[(historyLength * frames - 1 - k) % frames]!);
  const period = new Float64Array(frames * subSteps);
  blockLoops.subInputs(input, 0, frames, subSteps, history, period);
  return period;
}

/** Output at the program's rate of a rule of one or two instances (coarse first) from theirs at their own steps: that of the last step of every sample. */
export function combinedPeriods([coarse, fine]: readonly { readonly subSteps: number; readonly output: Float64Array }[]): Float64Array {
  if (fine === undefined) return lastSteps(coarse!.output, coarse!.subSteps);
  const output = new Float64Array(fine.output.length / fine.subSteps);
  blockLoops.combine(coarse!.output, coarse!.subSteps, fine.output, fine.subSteps, output.length, output, 0);
  return output;
}

function lastSteps(period: Float64Array, subSteps: number): Float64Array {
  if (subSteps === 1) return period;
  const output = new Float64Array(period.length / subSteps);
  for (let n = 0; n < output.length; n += 1) output[n] = period[n * subSteps + subSteps - 1]!;
  return output;
}

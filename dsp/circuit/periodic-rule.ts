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

/** The last step of every sample of one period at the instance's own step: its output at the program's rate. */
export function lastSteps(period: Float64Array, subSteps: number): Float64Array {
  if (subSteps === 1) return period;
  const output = new Float64Array(period.length / subSteps);
  for (let n = 0; n < output.length; n += 1) output[n] = period[n * subSteps + subSteps - 1]!;
  return output;
}

/** Output of a rule of one or two instances (coarse first) from theirs at the program's rate. */
export function combinedPeriods([coarse, fine]: readonly Float64Array[]): Float64Array {
  if (fine === undefined) return coarse!;
  const output = new Float64Array(fine.length);
  blockLoops.combine(coarse!, 1, fine, 1, fine.length, output, 0);
  return output;
}

import { chooseFrequency, cosineDrive, harmonicFigures, type HarmonicFigures } from '../circuit/index.ts';
import type { PathPlan } from '../path/index.ts';
import { designLadder, Downsampler, Upsampler, type LadderDesign } from '../resampling/index.ts';
import { steadyPath } from './steady-path.ts';

export interface ThroughLadder extends HarmonicFigures {
  readonly oscillates?: undefined;
  /** The frequency in fact used. */
  readonly frequencyHz: number;
}

/**
 * Harmonics of a path as a listener of its samples would measure them: the cosine begins at the base rate, goes up the ladder, through the stages in
 * their steady state, and down again, latency taken off. Orders at or above half the base rate cannot be there and are left out. `oscillates` names a
 * stage that does not repeat itself.
 */
export function measureThroughLadder(
  plan: PathPlan, probe: { readonly frequencyHz: number; readonly peakVolts: number; readonly orders: readonly number[] },
): ThroughLadder | { readonly oscillates: true; readonly spectralRadius: number } {
  const frequency = chooseFrequency(probe.frequencyHz, plan.baseRateHz);
  const ladder = designLadder(plan.baseRateHz, plan.oversamplingFactor, plan.ladder);
  const up = periodUp(ladder, cosineDrive(frequency, probe.peakVolts));
  const steps = steadyPath(plan, { input: up, cycles: frequency.cycles });
  let step = steps.next();
  while (!step.done) step = steps.next();
  const { oscillates, output } = step.value;
  if (oscillates) return { oscillates: true, spectralRadius: oscillates.steady!.spectralRadius };
  const wave = periodDown(ladder, output);
  return {
    frequencyHz: frequency.hz,
    ...harmonicFigures(wave, frequency.cycles, probe.orders.filter((order) => order * frequency.hz < plan.baseRateHz / 2)),
  };
}

/** Base frames after which nothing of the ladder's start is left above the rounding: many times its latency. */
function settlingFrames(ladder: LadderDesign): number {
  return 16 * ladder.latencyBaseFrames + 4096;
}

/** One period at the internal rate, in the ladder's steady state. */
function periodUp(ladder: LadderDesign, period: Float64Array): Float64Array {
  const upsampler = new Upsampler(ladder);
  const output = new Float64Array(period.length * ladder.factor);
  const rounds = 1 + Math.ceil(settlingFrames(ladder) / period.length);
  for (let round = 0; round < rounds; round += 1) upsampler.process(period, 0, period.length, output, 0);
  return output;
}

/** One period at the base rate in the ladder's steady state, turned back by the latency of up and down together. */
function periodDown(ladder: LadderDesign, period: Float64Array): Float64Array {
  const downsampler = new Downsampler(ladder);
  const frames = period.length / ladder.factor;
  const late = new Float64Array(frames);
  const rounds = 1 + Math.ceil(settlingFrames(ladder) / frames);
  for (let round = 0; round < rounds; round += 1) downsampler.process(period, 0, frames, late, 0);
  const shift = ladder.latencyBaseFrames % frames;
  return late.map((_, frame) => late[(frame + shift) % frames]!);
}

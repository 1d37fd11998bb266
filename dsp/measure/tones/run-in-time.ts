/** A path run in time at its internal rate, in volts, without ladder, noise or trial. */
import { PathRenderer, type PathPlan } from '../../path/index.ts';

/** Samples done between two yields. */
const stepFrames = 1024;

/** What comes out of a plan at rest for `input` volts at the internal rate; as long. Off the audio thread. */
export function* runInTime(plan: PathPlan, input: Float64Array): Generator<undefined, Float64Array> {
  const internal: PathPlan = {
    ...plan, baseRateHz: plan.baseRateHz * plan.oversamplingFactor, oversamplingFactor: 1, onTrial: { kind: 'path' }, trial: null, direct: null, hum: null,
    stages: plan.stages.map(({ noise: _, ...stage }) => stage),
  };
  const renderer = new PathRenderer(internal, 1, { blockFrames: stepFrames });
  const output = new Float64Array(input.length);
  let written = 0;
  const emit = (outputs: readonly Float64Array[], frames: number): void => {
    for (let i = 0; i < frames; i += 1) output[written + i] = outputs[0]![i]! * plan.samplePeakVolts;
    written += frames;
  };
  for (let at = 0; at < input.length; at += stepFrames) {
    const piece = input.subarray(at, Math.min(input.length, at + stepFrames)).map((volts) => volts / plan.samplePeakVolts);
    renderer.push([piece], piece.length, emit);
    yield undefined;
  }
  renderer.finish(emit);
  return output;
}

/** Paths and signals for the tests of the running path. */
import { PathRenderer, planPath, renderInSteps, type OnTrial, type PathCounters, type PathPlan, type PathRunner, type PathSetting, type RenderOptions, type TrialPlan } from '../../dsp/path/index.ts';
import { defaultValues, stageById, type StageValues } from '../../dsp/stages/index.ts';

export const rateHz = 48_000;

export interface StageWish {
  readonly stage: string;
  readonly values?: StageValues;
  readonly inCircuit?: boolean;
  readonly reversed?: boolean;
  readonly joined?: boolean;
}

/** A path with keys s1, s2, …; every value that is not given is the default. */
export function pathOf(wishes: readonly (string | StageWish)[], rest: Partial<PathSetting> = {}): PathSetting {
  return {
    stages: wishes.map((wish, index) => {
      const { stage, values = {}, inCircuit = true, reversed = false, joined = false } = typeof wish === 'string' ? { stage: wish } : wish;
      return { key: `s${index + 1}`, stage, inCircuit, reversed, joined, values: { ...defaultValues(stageById(stage)), ...values } };
    }),
    oversamplingFactor: 8, ladder: 'linear-phase', fullScaleDbu: 24, surroundings: null, supply: null, ...rest,
  };
}

export const threeStages = ['single-ended-bipolar', 'push-pull', 'harmonic-shaping'] as const;

export function planOf(setting: PathSetting, onTrial?: OnTrial): PathPlan {
  return planPath(setting, rateHz, onTrial ? { onTrial } : {});
}

/** A sine of this peak (1 = full scale). */
export function sine(frequencyHz: number, peak: number, frames: number): Float64Array {
  return Float64Array.from({ length: frames }, (_, i) => peak * Math.sin((2 * Math.PI * frequencyHz * i) / rateHz));
}

/** Peak of a sine at +4 dBu when full scale is +24 dBu. */
export const nominalPeak = 0.1;

/** Music-like: three decaying partials struck again every 50 ms, so that nothing repeats within a block. */
export function plucked(frames: number, peak = 0.3): Float64Array {
  return Float64Array.from({ length: frames }, (_, i) => {
    const sinceStrike = (i % 2400) / rateHz;
    const tone = [220, 551, 1207].reduce((sum, hz, k) => sum + Math.sin((2 * Math.PI * hz * i) / rateHz) / (k + 1), 0);
    return (peak / 1.83) * tone * Math.exp(-sinceStrike / 0.02);
  });
}

export function renderAll(plan: TrialPlan, inputs: readonly Float64Array[], options: RenderOptions & { readonly passes?: number } = {}): Float64Array[] {
  const steps = renderInSteps(plan, inputs, options);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** Renders one channel in pieces of the given sizes, taken in turn. */
export function renderInPieces(plan: TrialPlan, input: Float64Array, pieces: readonly number[], options: RenderOptions = {}): Float64Array {
  const renderer = new PathRenderer(plan, 1, options);
  const output = new Float64Array(input.length);
  let written = 0;
  const emit = ([channel]: readonly Float64Array[], frames: number): void => {
    output.set(channel!.subarray(0, frames), written);
    written += frames;
  };
  for (let at = 0, k = 0; at < input.length; k += 1) {
    const frames = Math.min(pieces[k % pieces.length]!, input.length - at);
    renderer.push([input.subarray(at, at + frames)], frames, emit);
    at += frames;
  }
  renderer.finish(emit);
  if (written !== input.length) throw new Error(`rendered ${written} of ${input.length} frames`);
  return output;
}

/** First index where two arrays differ in any bit; −1 if none. */
export function firstDifference(a: Float64Array, b: Float64Array): number {
  if (a.length !== b.length) return Math.min(a.length, b.length);
  for (let i = 0; i < a.length; i += 1) if (!Object.is(a[i], b[i])) return i;
  return -1;
}

/** Largest |a − b| over a range of frames. */
export function largestDifference(a: Float64Array, b: Float64Array, from = 0, to = a.length): number {
  let largest = 0;
  for (let i = from; i < to; i += 1) largest = Math.max(largest, Math.abs(a[i]! - b[i]!));
  return largest;
}

/** Peak of the component with `cycles` cycles in the window. */
export function componentPeak(window: Float64Array, cycles: number): number {
  let real = 0;
  let imaginary = 0;
  for (let i = 0; i < window.length; i += 1) {
    const angle = (2 * Math.PI * ((cycles * i) % window.length)) / window.length;
    real += window[i]! * Math.cos(angle);
    imaginary -= window[i]! * Math.sin(angle);
  }
  return (2 / window.length) * Math.hypot(real, imaginary);
}

export const toDb = (ratio: number): number => 20 * Math.log10(ratio);

export function countersOf(runner: PathRunner): PathCounters {
  const counters: PathCounters = { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0 };
  runner.readCounters(counters);
  return counters;
}

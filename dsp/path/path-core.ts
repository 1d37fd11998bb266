import { designLadder, Downsampler, Upsampler } from '../resampling/index.ts';
import type { SolverTolerance } from '../stages/index.ts';
import { fadeFrames, fadeWeights } from './fade.ts';
import type { PathPlan } from './plan.ts';
import { StageChain } from './stage-chain.ts';

/**
 * A path at its internal rate: up once, all stages, down once; the down ladder pads the latency to whole base frames. The dry signal leaves
 * beside the wet one, through the same ladder and delay. All methods but the constructor are for the audio thread and allocate nothing.
 */
export class PathCore {
  readonly chain: StageChain;
  readonly latencyFrames: number;
  readonly factor: number;
  readonly #voltsPerSample: number;
  readonly #up: Upsampler[] = [];
  readonly #downWet: Downsampler[] = [];
  readonly #downDry: Downsampler[] = [];
  readonly #wet: Float64Array[] = [];
  readonly #dry: Float64Array[] = [];
  readonly #maximumFrames: number;

  constructor(plan: PathPlan, channels: number, maximumFrames: number, tolerance: SolverTolerance) {
    const ladder = designLadder(plan.baseRateHz, plan.oversamplingFactor, plan.ladder);
    this.factor = plan.oversamplingFactor;
    this.#voltsPerSample = plan.samplePeakVolts;
    this.#maximumFrames = maximumFrames;
    this.latencyFrames = ladder.latencyBaseFrames;
    for (let channel = 0; channel < channels; channel += 1) {
      this.#up.push(new Upsampler(ladder));
      this.#downWet.push(new Downsampler(ladder));
      this.#downDry.push(new Downsampler(ladder));
      this.#wet.push(new Float64Array(maximumFrames * this.factor));
      this.#dry.push(new Float64Array(maximumFrames * this.factor));
    }
    this.chain = new StageChain(plan, channels, maximumFrames * this.factor, fadeWeights(fadeFrames(plan.baseRateHz) * this.factor), tolerance);
  }

  /**
   * Samples in, samples out, up to `maximumFrames`. `trialPosition` and `trialStep` in base frames. Non-finite inputs must have been replaced.
   */
  process(
    inputs: readonly Float64Array[], wetOutputs: readonly Float64Array[], dryOutputs: readonly Float64Array[], frames: number,
    trialPosition: number, trialStep: number,
  ): void {
    const volts = this.#voltsPerSample;
    const internalFrames = frames * this.factor;
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      const wet = this.#wet[channel]!;
      const dry = this.#dry[channel]!;
      this.#up[channel]!.process(inputs[channel]!, 0, frames, dry, 0);
      for (let i = 0; i < internalFrames; i += 1) wet[i] = dry[i]! * volts;
    }
    this.chain.process(this.#wet, internalFrames, trialPosition * this.factor, trialStep);
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      const wetOutput = wetOutputs[channel]!;
      this.#downWet[channel]!.process(this.#wet[channel]!, 0, frames, wetOutput, 0);
      this.#downDry[channel]!.process(this.#dry[channel]!, 0, frames, dryOutputs[channel]!, 0);
      for (let i = 0; i < frames; i += 1) wetOutput[i] = wetOutput[i]! / volts;
    }
  }

  /** Fills the upward filters with what was played, so that a path that takes over in mid-signal sees no gap before it. */
  prime(history: readonly Float64Array[]): void {
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      const past = history[channel]!;
      for (let at = 0; at < past.length; at += this.#maximumFrames) {
        const frames = Math.min(this.#maximumFrames, past.length - at);
        this.#up[channel]!.process(past, at, frames, this.#dry[channel]!, 0);
      }
    }
  }

  reset(): void {
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      this.#up[channel]!.reset();
      this.#downWet[channel]!.reset();
      this.#downDry[channel]!.reset();
    }
    this.chain.reset();
  }
}

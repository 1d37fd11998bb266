import { designLadder, Downsampler, Upsampler } from '../resampling/index.ts';
import { fadeFrames, fadeWeights } from './fade.ts';
import type { PathPlan } from './plan.ts';
import { StageChain } from './stage-chain.ts';

/** Holds back a signal by a fixed number of samples, in place. */
class DelayLine {
  readonly #memory: Float64Array;
  #at = 0;
  constructor(samples: number) {
    this.#memory = new Float64Array(samples);
  }
  process(buffer: Float64Array, frames: number): void {
    const memory = this.#memory;
    if (memory.length === 0) return;
    let at = this.#at;
    for (let i = 0; i < frames; i += 1) {
      const held = memory[at]!;
      memory[at] = buffer[i]!;
      buffer[i] = held;
      at = at + 1 === memory.length ? 0 : at + 1;
    }
    this.#at = at;
  }
  reset(): void {
    this.#memory.fill(0);
    this.#at = 0;
  }
}

/**
 * A path at its internal rate: up once, all stages, down once, padded so that the latency is whole base frames. The dry signal leaves beside
 * the wet one, through the same ladder and delay. All methods but the constructor are for the audio thread and allocate nothing.
 */
export class PathCore {
  readonly chain: StageChain;
  readonly latencyFrames: number;
  readonly factor: number;
  readonly #voltsPerSample: number;
  readonly #up: Upsampler[] = [];
  readonly #downWet: Downsampler[] = [];
  readonly #downDry: Downsampler[] = [];
  readonly #padWet: DelayLine[] = [];
  readonly #padDry: DelayLine[] = [];
  readonly #wet: Float64Array;
  readonly #dry: Float64Array;
  readonly #maximumFrames: number;

  constructor(plan: PathPlan, channels: number, maximumFrames: number) {
    const ladder = designLadder(plan.baseRateHz, plan.oversamplingFactor, plan.ladder);
    this.factor = plan.oversamplingFactor;
    this.#voltsPerSample = plan.samplePeakVolts;
    this.#maximumFrames = maximumFrames;
    this.latencyFrames = Math.ceil(ladder.latencyBaseFrames);
    const padSamples = Math.round((this.latencyFrames - ladder.latencyBaseFrames) * this.factor);
    for (let channel = 0; channel < channels; channel += 1) {
      this.#up.push(new Upsampler(ladder, maximumFrames));
      this.#downWet.push(new Downsampler(ladder, maximumFrames));
      this.#downDry.push(new Downsampler(ladder, maximumFrames));
      this.#padWet.push(new DelayLine(padSamples));
      this.#padDry.push(new DelayLine(padSamples));
    }
    this.#wet = new Float64Array(maximumFrames * this.factor);
    this.#dry = new Float64Array(maximumFrames * this.factor);
    this.chain = new StageChain(plan, channels, maximumFrames * this.factor, fadeWeights(fadeFrames(plan.baseRateHz) * this.factor));
  }

  /**
   * Samples in, samples out, up to `maximumFrames`. `trialPosition` and `trialStep` in base frames. Non-finite inputs must have been replaced.
   */
  process(
    inputs: readonly Float64Array[], wetOutputs: readonly Float64Array[], dryOutputs: readonly Float64Array[], frames: number,
    trialPosition: number, trialStep: number,
  ): void {
    const wet = this.#wet;
    const dry = this.#dry;
    const volts = this.#voltsPerSample;
    const internalFrames = frames * this.factor;
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      this.#up[channel]!.process(inputs[channel]!, dry, frames);
      for (let i = 0; i < internalFrames; i += 1) wet[i] = dry[i]! * volts;
      this.chain.process(channel, wet, internalFrames, trialPosition * this.factor, trialStep);
      this.#padWet[channel]!.process(wet, internalFrames);
      this.#padDry[channel]!.process(dry, internalFrames);
      const wetOutput = wetOutputs[channel]!;
      this.#downWet[channel]!.process(wet, wetOutput, frames);
      this.#downDry[channel]!.process(dry, dryOutputs[channel]!, frames);
      for (let i = 0; i < frames; i += 1) wetOutput[i] = wetOutput[i]! / volts;
    }
    this.chain.advance(internalFrames);
  }

  /** Fills the upward filters with what was played, so that a path that takes over in mid-signal sees no gap before it. */
  prime(history: readonly Float64Array[]): void {
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      const past = history[channel]!;
      for (let at = 0; at < past.length; at += this.#maximumFrames) {
        const frames = Math.min(this.#maximumFrames, past.length - at);
        for (let i = 0; i < frames; i += 1) this.#wet[i] = past[at + i]!;
        this.#up[channel]!.process(this.#wet, this.#dry, frames);
      }
    }
  }

  reset(): void {
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      this.#up[channel]!.reset();
      this.#downWet[channel]!.reset();
      this.#downDry[channel]!.reset();
      this.#padWet[channel]!.reset();
      this.#padDry[channel]!.reset();
    }
    this.chain.reset();
  }
}

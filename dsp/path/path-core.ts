import { designLadder, Downsampler, Upsampler, type LadderDesign } from '../resampling/index.ts';
import { mixSize } from './block-work.ts';
import type { BlockWork, MixNumbers } from './block-work.ts';
import { fadeFrames, fadeWeights } from './fade.ts';
import { humTable } from './hum-table.ts';
import { arraysBytes, createPathMemory } from './path-memory.ts';
import type { PathPlan } from './plan.ts';
import { StageChain } from './stage-chain.ts';
import type { Mixer, TrialMix } from './trial-mix.ts';

/**
 * A path at its internal rate: up once, all stages, down once; the down ladder pads the latency to whole base frames. The dry signal leaves
 * beside the wet one, through the same ladder and delay, and is mixed with it. All methods but the constructor are for the audio thread and
 * allocate nothing.
 */
export class PathCore implements Mixer {
  readonly chain: StageChain;
  readonly latencyFrames: number;
  readonly factor: number;
  /** Samples of the next block; non-finite ones must have been replaced. One array a channel, `maximumFrames` long, as `outputs`. */
  readonly inputs: readonly Float64Array[];
  /** Of the last block. */
  readonly outputs: readonly Float64Array[];
  readonly work: BlockWork;
  readonly weights: Float64Array;
  readonly mixNumbers: MixNumbers;
  readonly #maximumFrames: number;
  /** One number. */
  readonly #voltsPerSample: Float64Array;
  readonly #dryOutputs: readonly Float64Array[];
  readonly #before: readonly Float64Array[];
  readonly #wet: readonly Float64Array[];
  readonly #dry: readonly Float64Array[];
  readonly #up: readonly Upsampler[];
  readonly #downWet: readonly Downsampler[];
  readonly #downDry: readonly Downsampler[];
  /** One period, samples; null: none. */
  readonly #hum: Float64Array | null;

  /** `maximumFrames`: of the longest block, at the base rate. */
  constructor(plan: PathPlan, channels: number, maximumFrames: number) {
    const ladder = designLadder(plan.baseRateHz, plan.oversamplingFactor, plan.ladder);
    const memory = createPathMemory(coreBytes(plan, ladder, channels, maximumFrames));
    const perChannel = <T>(make: () => T): T[] => Array.from({ length: channels }, make);
    const internalFrames = maximumFrames * plan.oversamplingFactor;
    const fade = fadeFrames(plan.baseRateHz);
    this.factor = plan.oversamplingFactor;
    this.latencyFrames = ladder.latencyBaseFrames;
    this.work = memory.work;
    this.#maximumFrames = maximumFrames;
    this.#voltsPerSample = memory.floats(1).fill(plan.samplePeakVolts);
    this.mixNumbers = memory.floats(mixSize);
    this.weights = fadeWeights(fade, memory.floats(fade + 1));
    this.inputs = perChannel(() => memory.floats(maximumFrames));
    this.outputs = perChannel(() => memory.floats(maximumFrames));
    this.#dryOutputs = perChannel(() => memory.floats(maximumFrames));
    this.#before = perChannel(() => memory.floats(maximumFrames));
    this.#wet = perChannel(() => memory.floats(internalFrames));
    this.#dry = perChannel(() => memory.floats(internalFrames));
    this.#up = perChannel(() => new Upsampler(ladder, memory.home));
    this.#downWet = perChannel(() => new Downsampler(ladder, memory.home));
    this.#downDry = perChannel(() => new Downsampler(ladder, memory.home));
    this.#hum = plan.hum === null ? null : humTable(plan.hum, plan.baseRateHz * plan.oversamplingFactor, plan.samplePeakVolts);
    const steps = fade * this.factor;
    this.chain = new StageChain(plan, internalFrames, {
      memory, channels, factor: this.factor, tolerance: plan.grade, weights: fadeWeights(steps, memory.floats(steps + 1)), scratch: perChannel(() => memory.floats(internalFrames)),
    });
  }

  /** From `inputs` to `outputs`, up to `maximumFrames`: the stages, the switch of what is on trial and its gains. `frame`: of the first, since reset. */
  process(frames: number, trial: TrialMix, plan: PathPlan, frame: number): void {
    const { work } = this;
    const volts = this.#voltsPerSample;
    const internalFrames = frames * this.factor;
    for (let channel = 0; channel < this.inputs.length; channel += 1) {
      const dry = this.#dry[channel]!;
      this.#up[channel]!.process(this.inputs[channel]!, 0, frames, dry, 0);
      if (this.#hum !== null) addPeriodic(dry, this.#hum, frame * this.factor, internalFrames);
      work.multiply(dry, this.#wet[channel]!, internalFrames, volts);
    }
    this.chain.process(this.#wet, internalFrames, trial.position * this.factor, trial.step);
    if (this.chain.hasDirect) this.#driveDirect(internalFrames);
    for (let channel = 0; channel < this.inputs.length; channel += 1) {
      const output = this.outputs[channel]!;
      const dryOutput = this.#dryOutputs[channel]!;
      this.#downWet[channel]!.process(this.#wet[channel]!, 0, frames, output, 0);
      this.#downDry[channel]!.process(this.#dry[channel]!, 0, frames, dryOutput, 0);
      work.divide(output, output, frames, volts);
      trial.mix(this, plan, output, dryOutput, frames);
    }
  }

  /** The dry signal through the surroundings, in volts and back. */
  #driveDirect(internalFrames: number): void {
    const volts = this.#voltsPerSample;
    for (let channel = 0; channel < this.#dry.length; channel += 1) this.work.multiply(this.#dry[channel]!, this.#dry[channel]!, internalFrames, volts);
    this.chain.processDirect(this.#dry, internalFrames);
    for (let channel = 0; channel < this.#dry.length; channel += 1) this.work.divide(this.#dry[channel]!, this.#dry[channel]!, internalFrames, volts);
  }

  /** Fades `outputs` from those of the path that played before, whose block may be as long; `position` in base frames. */
  fadeFrom(previous: PathCore, frames: number, position: number): void {
    for (let channel = 0; channel < this.outputs.length; channel += 1) {
      const before = this.#before[channel]!;
      before.set(previous.outputs[channel]!);
      this.work.crossfade(this.outputs[channel]!, before, frames, this.weights, position, 1);
    }
  }

  /** Fills the upward filters with what was played, so that a path that takes over in mid-signal sees no gap before it. */
  prime(history: readonly Float64Array[]): void {
    for (let channel = 0; channel < this.#up.length; channel += 1) {
      const past = history[channel]!;
      const input = this.inputs[channel]!;
      for (let at = 0; at < past.length; at += this.#maximumFrames) {
        const frames = Math.min(this.#maximumFrames, past.length - at);
        for (let i = 0; i < frames; i += 1) input[i] = past[at + i]!;
        this.#up[channel]!.process(input, 0, frames, this.#dry[channel]!, 0);
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

/** Adds a table read round and round, whose first entry belongs to sample 0. Audio thread: allocates nothing. */
function addPeriodic(samples: Float64Array, table: Float64Array, firstSample: number, count: number): void {
  let at = firstSample % table.length;
  for (let i = 0; i < count; i += 1) {
    samples[i] = samples[i]! + table[at]!;
    at = at + 1 === table.length ? 0 : at + 1;
  }
}

/** Room for everything that the constructor asks of its memory. */
function coreBytes(plan: PathPlan, ladder: LadderDesign, channels: number, maximumFrames: number): number {
  const fade = fadeFrames(plan.baseRateHz);
  const internalFrames = maximumFrames * plan.oversamplingFactor;
  return arraysBytes(1, 1) + arraysBytes(1, mixSize) + arraysBytes(1, fade + 1) + arraysBytes(1, fade * plan.oversamplingFactor + 1)
    + arraysBytes(4 * channels, maximumFrames) + arraysBytes(3 * channels, internalFrames)
    + channels * (Upsampler.bytes(ladder) + 2 * Downsampler.bytes(ladder))
    + StageChain.bytes(plan, channels, internalFrames);
}

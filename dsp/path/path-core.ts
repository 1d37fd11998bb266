import { designLadder, Downsampler, Upsampler, type LadderDesign } from '../resampling/index.ts';
import type { BlockWork } from './block-work.ts';
import { fadeFrames, fadeWeights } from './fade.ts';
import { humTable } from './hum-table.ts';
import { OutputBus } from './output-bus.ts';
import { arraysBytes, createPathMemory } from './path-memory.ts';
import { isPairPlan } from './plan-sides.ts';
import type { PathPlan, PlannedHum, TrialPlan } from './plan.ts';
import { StageChain, type PreparedChange } from './stage-chain.ts';
import type { CorePath, PreparedValues, TrialCore } from './trial-core.ts';
import type { TrialMix } from './trial-mix.ts';

/**
 * A path at its internal rate: up once, all stages, down once; the down ladder pads the latency to whole base frames. The dry signal leaves
 * beside the wet one, through the same ladder and delay, and is mixed with it. All methods but the constructor and `prepare` are for the audio thread and
 * allocate nothing.
 */
export class PathCore implements TrialCore {
  readonly chain: StageChain;
  readonly latencyFrames: number;
  readonly inputs: readonly Float64Array[];
  readonly paths: readonly PathCore[] = [this];
  readonly #factor: number;
  readonly #work: BlockWork;
  readonly #bus: OutputBus;
  readonly #maximumFrames: number;
  /** One number. */
  readonly #voltsPerSample: Float64Array;
  readonly #wet: readonly Float64Array[];
  readonly #dry: readonly Float64Array[];
  readonly #up: readonly Upsampler[];
  readonly #downWet: readonly Downsampler[];
  readonly #downDry: readonly Downsampler[];
  /** One period, samples; null: none. */
  readonly #hum: Float64Array | null;
  #plan: PathPlan;

  /** `maximumFrames`: of the longest block, at the base rate. */
  constructor(plan: PathPlan, channels: number, maximumFrames: number) {
    const ladder = designLadder(plan.baseRateHz, plan.oversamplingFactor, plan.ladder);
    const memory = createPathMemory(coreBytes(plan, ladder, channels, maximumFrames));
    const perChannel = <T>(make: () => T): T[] => Array.from({ length: channels }, make);
    const internalFrames = maximumFrames * plan.oversamplingFactor;
    this.#plan = plan;
    this.#factor = plan.oversamplingFactor;
    this.latencyFrames = ladder.latencyBaseFrames;
    this.#work = memory.work;
    this.#maximumFrames = maximumFrames;
    this.#voltsPerSample = memory.floats(1).fill(plan.samplePeakVolts);
    this.#bus = new OutputBus(memory, plan.baseRateHz, channels, maximumFrames);
    this.inputs = perChannel(() => memory.floats(maximumFrames));
    this.#wet = perChannel(() => memory.floats(internalFrames));
    this.#dry = perChannel(() => memory.floats(internalFrames));
    this.#up = perChannel(() => new Upsampler(ladder, memory.home));
    this.#downWet = perChannel(() => new Downsampler(ladder, memory.home));
    this.#downDry = perChannel(() => new Downsampler(ladder, memory.home));
    this.#hum = plan.hum === null ? null : humTable(plan.hum, plan.baseRateHz * plan.oversamplingFactor, plan.samplePeakVolts);
    const steps = fadeFrames(plan.baseRateHz) * this.#factor;
    this.chain = new StageChain(plan, internalFrames, {
      memory, channels, factor: this.#factor, tolerance: plan.grade, weights: fadeWeights(steps, memory.floats(steps + 1)), scratch: perChannel(() => memory.floats(internalFrames)),
    });
  }

  get plan(): PathPlan {
    return this.#plan;
  }
  get outputs(): readonly Float64Array[] {
    return this.#bus.outputs;
  }
  get fading(): boolean {
    return this.chain.fading;
  }

  runs(path: CorePath): boolean {
    return path === this;
  }

  process(frames: number, trial: TrialMix, frame: number): void {
    this.#drive(frames, trial.position * this.#factor, trial.step, frame);
    if (this.chain.hasDirect) this.#driveDirect(frames * this.#factor);
    const { outputs, others } = this.#bus;
    for (let channel = 0; channel < this.inputs.length; channel += 1) {
      this.#downDry[channel]!.process(this.#dry[channel]!, 0, frames, others[channel]!, 0);
      trial.mix(this.#bus, this.#plan.trialPolarity, this.#plan.onTrial.kind === 'path', outputs[channel]!, others[channel]!, frames);
    }
  }

  /** `process` with the path in circuit, without a gain, and nothing beside it. */
  processIn(frames: number, frame: number): void {
    this.#drive(frames, 0, 0, frame);
  }

  /** From `inputs` through the stages to `outputs`, the dry signal left at the internal rate. Position and step of the switch at the internal rate, for a stage on trial. */
  #drive(frames: number, trialPosition: number, trialStep: number, frame: number): void {
    const work = this.#work;
    const volts = this.#voltsPerSample;
    const internalFrames = frames * this.#factor;
    for (let channel = 0; channel < this.inputs.length; channel += 1) {
      const dry = this.#dry[channel]!;
      this.#up[channel]!.process(this.inputs[channel]!, 0, frames, dry, 0);
      if (this.#hum !== null) addPeriodic(dry, this.#hum, frame * this.#factor, internalFrames);
      work.multiply(dry, this.#wet[channel]!, internalFrames, volts);
    }
    this.chain.process(this.#wet, internalFrames, trialPosition, trialStep);
    for (let channel = 0; channel < this.inputs.length; channel += 1) {
      const output = this.outputs[channel]!;
      this.#downWet[channel]!.process(this.#wet[channel]!, 0, frames, output, 0);
      work.divide(output, output, frames, volts);
    }
  }

  /** The dry signal through the surroundings, in volts and back. */
  #driveDirect(internalFrames: number): void {
    const volts = this.#voltsPerSample;
    for (let channel = 0; channel < this.#dry.length; channel += 1) this.#work.multiply(this.#dry[channel]!, this.#dry[channel]!, internalFrames, volts);
    this.chain.processDirect(this.#dry, internalFrames);
    for (let channel = 0; channel < this.#dry.length; channel += 1) this.#work.divide(this.#dry[channel]!, this.#dry[channel]!, internalFrames, volts);
  }

  fadeFrom(previous: TrialCore, frames: number, position: number): void {
    this.#bus.fadeFrom(previous.outputs, frames, position);
  }

  takeOver(previous: TrialCore, history: readonly Float64Array[]): void {
    this.goOnFrom(previous.paths[0]!, history);
  }

  takePlace(): void {
    // Nothing but frame 0.
  }

  /** Goes on in mid-signal where another path stood. */
  goOnFrom(previous: CorePath, history: readonly Float64Array[]): void {
    this.#prime(history);
    this.chain.adopt(previous.chain);
  }

  prepare(plan: TrialPlan): PreparedValues | null {
    if (isPairPlan(plan) || !sameFrame(this.#plan, plan) || !StageChain.differsInValuesAlone(this.#plan, plan)) return null;
    const change = this.chain.prepare(plan);
    return change && { plan, changes: [change] };
  }

  apply({ changes }: PreparedValues): void {
    this.applyChange(changes[0]!);
  }

  applyChange(change: PreparedChange): void {
    this.#plan = change.plan;
    this.chain.apply(change);
  }

  /** Fills the upward filters with what was played, so that a path that takes over in mid-signal sees no gap before it. */
  #prime(history: readonly Float64Array[]): void {
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
  const internalFrames = maximumFrames * plan.oversamplingFactor;
  return arraysBytes(1, 1) + arraysBytes(1, fadeFrames(plan.baseRateHz) * plan.oversamplingFactor + 1) + OutputBus.bytes(plan.baseRateHz, channels, maximumFrames)
    + arraysBytes(channels, maximumFrames) + arraysBytes(3 * channels, internalFrames)
    + channels * (Upsampler.bytes(ladder) + 2 * Downsampler.bytes(ladder))
    + StageChain.bytes(plan, channels, internalFrames);
}

/** Whether a change from one plan to the other can leave all but the stages as it is. Off the audio thread. */
function sameFrame(a: PathPlan, b: PathPlan): boolean {
  return a.oversamplingFactor === b.oversamplingFactor && a.ladder === b.ladder && a.grade === b.grade && a.samplePeakVolts === b.samplePeakVolts
    && a.onTrial.kind === b.onTrial.kind && a.trialPolarity === b.trialPolarity && sameHum(a.hum, b.hum);
}

function sameHum(a: PlannedHum | null, b: PlannedHum | null): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

/** A circuit that plays: the instances of one program at their steps, started without a jolt, their outputs combined as its rule says. */
import { roundedUp } from '../webassembly/index.ts';
import { carryOver, roomFor } from './carry-over.ts';
import type { CarriedBias, CarriedValues } from './carry-over.ts';
import { listeningTolerance } from './channel-memory.ts';
import { createInstance, instanceBytes } from './create-instance.ts';
import { compiledBlocks } from './emit/compiled-blocks.ts';
import type { InstanceHome } from './instance-home.ts';
import type { InstanceRunner } from './instance-runner.ts';
import { subStepsOfRule } from './program.ts';
import type { CircuitProgram, IntegrationRule } from './program.ts';
import { clearSolverReport, createSolverReport } from './solver-report.ts';
import type { SolverReport } from './solver-report.ts';
import { largestInput } from './solver.ts';
import { blockLoops, historyLength } from './sub-steps.ts';
import type { BlockWork } from './sub-steps.ts';

/** Samples at a time where sub-inputs are made. */
const chunkFrames = 128;

/** Bytes of an arena that a runner of `program` needs, under its own rule or another. */
export function runnerBytes(program: CircuitProgram, channels: number, rule: IntegrationRule = program.rule): number {
  const steps = subStepsOfRule[rule];
  const scratch = takesSamples(steps) ? 0 : channels * steps.reduce((sum, subSteps) => sum + roundedUp(8 * chunkFrames * subSteps), 0);
  return scratch + channels * roundedUp(8 * historyLength) + steps.length * roundedUp(instanceBytes(program));
}

/** Whether the program's samples are the steps of its only instance. */
const takesSamples = (steps: readonly number[]): boolean => steps.length === 1 && steps[0] === 1;

/** Everything but the constructor may be called from the audio callback: it allocates nothing, never throws, never waits. */
export class CircuitRunner {
  readonly program: CircuitProgram;
  readonly channels: number;
  /**
   * Of all instances together. `samples` are those of the program; `maximumEvaluations` is a bound: the largest count of each instance in one of its
   * steps, which may have been in different samples, times its steps a sample, summed. (The half step of a start comes on top.)
   */
  readonly report: SolverReport;
  /** Coarse first. */
  private readonly instances: readonly InstanceRunner[];
  /** Sub-inputs, then outputs, of each instance, one array a channel; none where the program's samples are the steps. */
  private readonly scratch: readonly (readonly Float64Array[])[];
  /** The last three inputs of each channel, volts, the latest first. */
  private readonly history: readonly Float64Array[];
  /** 1: the next sample is the first since reset or take-over. */
  private readonly starting: Uint8Array;
  private readonly refused: Float64Array;
  private readonly room: CarriedValues;
  private readonly home: InstanceHome | null;
  private readonly blocks: BlockWork;

  /**
   * `tolerance`: `listeningTolerance` or `measuringTolerance`, in units of each control's scale. `home`: where compiled code and its numbers live;
   * without one everything runs in readable loops, with the same bits. Throws a RangeError where the home's arena has less room than `runnerBytes`.
   */
  constructor(program: CircuitProgram, channels: number, tolerance: number = listeningTolerance, home: InstanceHome | null = null) {
    const floats = (length: number): Float64Array => (home === null ? new Float64Array(length) : home.arena.floats(length));
    const perChannel = (length: number): Float64Array[] => Array.from({ length: channels }, () => floats(length));
    this.program = program;
    this.channels = channels;
    this.home = home;
    this.blocks = (home === null ? null : compiledBlocks(home.memory)) ?? blockLoops;
    this.report = createSolverReport(channels);
    this.history = perChannel(historyLength);
    this.scratch = takesSamples(program.instances.map(({ subSteps }) => subSteps)) ? [] : program.instances.map(({ subSteps }) => perChannel(chunkFrames * subSteps));
    this.instances = program.instances.map((_, index) => createInstance(program, index, channels, tolerance, home));
    this.starting = new Uint8Array(channels).fill(1);
    this.refused = new Float64Array(channels);
    this.room = roomFor(program);
  }

  /** To the operating point, as new; counters to 0. */
  reset(): void {
    for (let k = 0; k < this.instances.length; k += 1) this.instances[k]!.reset();
    for (let channel = 0; channel < this.channels; channel += 1) {
      this.history[channel]!.fill(0);
      this.starting[channel] = 1;
      this.refused[channel] = 0;
    }
    clearSolverReport(this.report);
  }

  /**
   * Input volts (bias excluded) in, output volts (absolute, with their DC) out, in place, one array a channel, at the program's rate; any block
   * length. An input that is NaN, infinite or beyond 1e100 V is taken as 0 V; a state or output that is not finite gives one step at the rest output
   * and the instance goes on from the operating point. Both are counted.
   */
  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    if (frames === 0) return;
    if (this.scratch.length === 0) this.oneRun(channels, offset, frames);
    else for (let done = 0; done < frames; done += chunkFrames) this.subSteppedRuns(channels, offset + done, Math.min(chunkFrames, frames - done));
    this.count(frames);
  }

  /**
   * Takes over the memory of the runner that ran before a change of values, by component name: what capacitors and inductors store, and the
   * control voltages as first guess. `bias` 'settled' moves all of it by the difference of the two operating points.
   */
  adopt(previous: CircuitRunner, bias: CarriedBias = 'carried'): void {
    const channels = Math.min(this.channels, previous.channels);
    for (let k = 0; k < this.instances.length; k += 1) {
      const from = previous.instanceFor(this.program.instances[k]!.subSteps);
      for (let channel = 0; channel < channels; channel += 1) carryOver(from, this.instances[k]!, channel, bias, this.room);
    }
    for (let channel = 0; channel < channels; channel += 1) {
      this.history[channel]!.set(previous.history[channel]!);
      this.starting[channel] = 1;
    }
  }

  /** What each state of a channel stores now, in the finest run: volts of a capacitor, amperes of an inductor, volt-seconds of a core. Gives their number. */
  storedQuantities(channel: number, into: Float64Array, offset: number): number {
    const finest = this.instances[this.instances.length - 1]!;
    const { stateCount } = this.program.topology;
    for (let k = 0; k < stateCount; k += 1) into[offset + k] = finest.storedQuantity(channel, k);
    return stateCount;
  }

  /** The instance of that step, or the next finer; the finest where there is none. */
  private instanceFor(subSteps: number): InstanceRunner {
    const { instances } = this.program;
    for (let k = 0; k < instances.length; k += 1) if (instances[k]!.subSteps >= subSteps) return this.instances[k]!;
    return this.instances[instances.length - 1]!;
  }

  private oneRun(channels: readonly Float64Array[], offset: number, frames: number): void {
    for (let channel = 0; channel < this.channels; channel += 1) {
      const input = channels[channel]!;
      if (this.starting[channel] === 1) this.start(channel, 0, soundInput(input[offset]!));
      this.starting[channel] = 0;
      this.remember(channel, input, offset, frames);
    }
    this.instances[0]!.process(channels, offset, frames);
  }

  private subSteppedRuns(channels: readonly Float64Array[], offset: number, frames: number): void {
    const { instances } = this.program;
    const blocks = this.reaches(channels) ? this.blocks : blockLoops;
    for (let channel = 0; channel < this.channels; channel += 1) {
      const input = channels[channel]!;
      this.refused[channel] = this.refused[channel]! + blocks.cleanInput(input, offset, frames, 1);
      for (let k = 0; k < instances.length; k += 1) {
        const { subSteps } = instances[k]!;
        const work = this.scratch[k]![channel]!;
        if (subSteps === 1) for (let n = 0; n < frames; n += 1) work[n] = input[offset + n]!;
        else blocks.subInputs(input, offset, frames, subSteps, this.history[channel]!, work);
        if (this.starting[channel] === 1) this.start(channel, k, work[0]!);
      }
      this.starting[channel] = 0;
      this.remember(channel, input, offset, frames);
    }
    for (let k = 0; k < instances.length; k += 1) this.instances[k]!.process(this.scratch[k]!, 0, frames * instances[k]!.subSteps);
    const coarse = this.scratch[0]!;
    if (instances.length === 1) {
      const { subSteps } = instances[0]!;
      for (let channel = 0; channel < this.channels; channel += 1) {
        const output = channels[channel]!;
        const steps = coarse[channel]!;
        for (let n = 0; n < frames; n += 1) output[offset + n] = steps[subSteps * n + subSteps - 1]!;
      }
      return;
    }
    const fine = this.scratch[1]!;
    for (let channel = 0; channel < this.channels; channel += 1) {
      blocks.combine(coarse[channel]!, instances[0]!.subSteps, fine[channel]!, instances[1]!.subSteps, frames, channels[channel]!, offset);
    }
  }

  /** `firstInput`: of the instance's own first step. With it in both half steps a take-over would jump by a hundred times as much. */
  private start(channel: number, instance: number, firstInput: number): void {
    this.instances[instance]!.start(channel, (this.history[channel]![0]! + firstInput) / 2);
  }

  private remember(channel: number, input: Float64Array, offset: number, frames: number): void {
    const history = this.history[channel]!;
    for (let n = offset + Math.max(0, frames - historyLength); n < offset + frames; n += 1) {
      history[2] = history[1]!;
      history[1] = history[0]!;
      history[0] = soundInput(input[n]!);
    }
  }

  /** Whether compiled code can work on these arrays. */
  private reaches(channels: readonly Float64Array[]): boolean {
    if (this.home === null) return true;
    for (let channel = 0; channel < this.channels; channel += 1) if (!this.home.arena.holds(channels[channel]!)) return false;
    return true;
  }

  private count(frames: number): void {
    const { report, instances } = this;
    for (let channel = 0; channel < this.channels; channel += 1) {
      let evaluations = 0;
      let rescues = 0;
      let capHits = 0;
      let nonFinite = this.refused[channel]!;
      let maximumEvaluations = 0;
      for (let k = 0; k < instances.length; k += 1) {
        const own = instances[k]!.report;
        evaluations += own.evaluations[channel]!;
        rescues += own.rescues[channel]!;
        capHits += own.capHits[channel]!;
        nonFinite += own.nonFinite[channel]!;
        maximumEvaluations += own.maximumEvaluations[channel]! * this.program.instances[k]!.subSteps;
      }
      report.samples[channel] = report.samples[channel]! + frames;
      report.evaluations[channel] = evaluations;
      report.rescues[channel] = rescues;
      report.capHits[channel] = capHits;
      report.nonFinite[channel] = nonFinite;
      report.maximumEvaluations[channel] = maximumEvaluations;
    }
  }
}

const soundInput = (volts: number): number => (Math.abs(volts) <= largestInput ? volts : 0);

import { DelayLine } from './delay-line.ts';
import { OutputBus } from './output-bus.ts';
import { PathCore } from './path-core.ts';
import { createPathMemory } from './path-memory.ts';
import { isPairPlan } from './plan-sides.ts';
import type { PairPlan, TrialPlan } from './plan.ts';
import type { CorePath, PreparedValues, TrialCore } from './trial-core.ts';
import type { PreparedChange } from './stage-chain.ts';
import type { TrialMix } from './trial-mix.ts';

/** One of the two paths. */
interface Side {
  readonly path: PathCore;
  /** It ran before and goes on, by this change of its values. Null: it is new. */
  readonly kept: PreparedChange | null;
  /** One a channel: the side with the shorter way waits for the other. */
  readonly delays: readonly DelayLine[];
}

/**
 * Two whole paths on the same samples, heard one or the other through the switch that every trial has: the shorter one delayed to the latency of the longer, the second one turned where their
 * polarities differ. All methods but the constructor and `prepare` are for the audio thread and allocate nothing.
 */
export class PairCore implements TrialCore {
  readonly latencyFrames: number;
  readonly inputs: readonly Float64Array[];
  readonly paths: readonly PathCore[];
  readonly #sides: readonly Side[];
  readonly #bus: OutputBus;
  #plan: PairPlan;

  /** `current`: what plays now. A side of it that differs in values alone is not built anew but goes on, shared by both while one fades to the other. */
  constructor(plan: PairPlan, channels: number, maximumFrames: number, current: TrialCore | null) {
    const before = current instanceof PairCore ? current : null;
    const plans = [plan.in, plan.out];
    const kept = plans.map((side, k) => before?.paths[k]!.prepare(side)?.changes[0] ?? null);
    this.paths = plans.map((side, k) => (kept[k] === null ? new PathCore(side, channels, maximumFrames) : before!.paths[k]!));
    const latencyFrames = Math.max(...this.paths.map((path) => path.latencyFrames));
    this.#sides = this.paths.map((path, k) => ({
      path, kept: kept[k]!, delays: Array.from({ length: channels }, () => new DelayLine(latencyFrames - path.latencyFrames)),
    }));
    this.#plan = plan;
    this.latencyFrames = latencyFrames;
    this.inputs = this.paths[0]!.inputs;
    this.#bus = new OutputBus(createPathMemory(OutputBus.bytes(plan.baseRateHz, channels, maximumFrames)), plan.baseRateHz, channels, maximumFrames);
  }

  get plan(): PairPlan {
    return this.#plan;
  }
  get outputs(): readonly Float64Array[] {
    return this.#bus.outputs;
  }
  get fading(): boolean {
    return this.paths[0]!.fading || this.paths[1]!.fading;
  }

  runs(path: CorePath): boolean {
    return path === this.paths[0] || path === this.paths[1];
  }

  process(frames: number, trial: TrialMix, frame: number, beside: TrialCore | null): void {
    const { inputs } = this;
    for (let k = 0; k < this.paths.length; k += 1) {
      const path = this.paths[k]!;
      if (beside !== null && beside.runs(path)) continue;
      for (let channel = 0; channel < inputs.length; channel += 1) if (path.inputs !== inputs) path.inputs[channel]!.set(inputs[channel]!);
      path.processIn(frames, frame);
    }
    const bus = this.#bus;
    const first = this.#sides[0]!;
    const second = this.#sides[1]!;
    for (let channel = 0; channel < inputs.length; channel += 1) {
      const output = bus.outputs[channel]!;
      const other = bus.others[channel]!;
      first.delays[channel]!.process(first.path.outputs[channel]!, output, frames);
      second.delays[channel]!.process(second.path.outputs[channel]!, other, frames);
      trial.mix(bus, this.#plan.trialPolarity, true, output, other, frames);
    }
  }

  fadeFrom(previous: TrialCore, frames: number, position: number): void {
    this.#bus.fadeFrom(previous.outputs, frames, position);
  }

  takeOver(previous: TrialCore, history: readonly Float64Array[]): void {
    for (let k = 0; k < this.#sides.length; k += 1) {
      const { path, kept } = this.#sides[k]!;
      if (kept !== null) path.applyChange(kept);
      else path.goOnFrom(previous.paths[Math.min(k, previous.paths.length - 1)]!, history);
    }
  }

  takePlace(): void {
    for (let k = 0; k < this.#sides.length; k += 1) {
      const { path, kept } = this.#sides[k]!;
      if (kept !== null) path.applyChange(kept);
    }
  }

  prepare(plan: TrialPlan): PreparedValues | null {
    if (!isPairPlan(plan) || plan.trialPolarity !== this.#plan.trialPolarity) return null;
    const first = this.paths[0]!.prepare(plan.in);
    const second = this.paths[1]!.prepare(plan.out);
    return first && second && { plan, changes: [first.changes[0]!, second.changes[0]!] };
  }

  apply({ plan, changes }: PreparedValues): void {
    this.#plan = plan as PairPlan;
    for (let k = 0; k < this.paths.length; k += 1) this.paths[k]!.applyChange(changes[k]!);
  }

  reset(): void {
    for (let k = 0; k < this.#sides.length; k += 1) {
      const { path, delays } = this.#sides[k]!;
      path.reset();
      for (let channel = 0; channel < delays.length; channel += 1) delays[channel]!.reset();
    }
  }
}

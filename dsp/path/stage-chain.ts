import type { BlockWork } from './block-work.ts';
import { arraysBytes } from './path-memory.ts';
import type { PathPlan, PlannedProgram, PlannedStage } from './plan.ts';
import { StageSlot } from './stage-slot.ts';
import type { PlacedRunner, SlotSurroundings } from './stage-slot.ts';

interface ChainLink {
  readonly slot: StageSlot;
  /** The same stage wired to the one before the trial; runs beside it, so that its coupling capacitors are ready. */
  readonly withoutTrial: StageSlot | null;
  readonly onTrial: boolean;
}

/** Sums over stages and channels since reset; may be a block stale. */
export interface PathCounters {
  samples: number;
  evaluations: number;
  rescues: number;
  capHits: number;
  /** Non-finite samples met at the path's ends and inside stages. */
  nonFinite: number;
}

/** Runners prepared for a change of values, in the order of the chain; null where nothing changes. */
export interface PreparedChange {
  readonly plan: PathPlan;
  readonly runners: readonly (PlacedRunner | null)[];
  readonly runnersWithoutTrial: readonly (PlacedRunner | null)[];
}

/**
 * The stages of a path in series, in volts at the internal rate. A stage on trial is heard through a fade between the chain with it and the
 * chain without it; the two join after the following stage, which is wired both ways. `process` and `apply` are for the audio thread and
 * allocate nothing.
 */
export class StageChain {
  readonly #links: readonly ChainLink[];
  readonly #work: BlockWork;
  readonly #weights: Float64Array;
  readonly #without: readonly Float64Array[];
  readonly #trialPolarity: number;

  /** `maximumFrames` at the internal rate. */
  constructor(plan: PathPlan, maximumFrames: number, surroundings: SlotSurroundings) {
    const { memory, channels, weights } = surroundings;
    this.#work = memory.work;
    this.#weights = weights;
    this.#without = Array.from({ length: channels }, () => memory.floats(maximumFrames));
    this.#trialPolarity = plan.trialPolarity;
    const slot = ({ key, reversed }: PlannedStage, planned: PlannedProgram) => new StageSlot(key, planned, reversed, surroundings);
    this.#links = plan.stages.map((stage) => ({
      slot: slot(stage, stage.wired),
      withoutTrial: stage.wiredWithoutTrial ? slot(stage, stage.wiredWithoutTrial) : null,
      onTrial: stage.onTrial,
    }));
  }

  /** Room in a path's memory. */
  static bytes(plan: PathPlan, channels: number, maximumFrames: number): number {
    return plan.stages.reduce((sum, { wired, wiredWithoutTrial }) => (
      sum + StageSlot.bytes(wired.program, channels) + (wiredWithoutTrial ? StageSlot.bytes(wiredWithoutTrial.program, channels) : 0)
    ), arraysBytes(channels, maximumFrames));
  }

  get fading(): boolean {
    for (let k = 0; k < this.#links.length; k += 1) {
      const link = this.#links[k]!;
      if (link.slot.fading || link.withoutTrial?.fading) return true;
    }
    return false;
  }

  /** Adds what the stages counted. Audio thread: allocates nothing. */
  addCounters(into: PathCounters): void {
    for (let k = 0; k < this.#links.length; k += 1) {
      const { counters } = this.#links[k]!.slot.runner;
      into.samples += counters.samples;
      into.evaluations += counters.evaluations;
      into.rescues += counters.rescues;
      into.capHits += counters.capHits;
      into.nonFinite += counters.nonFinite;
    }
  }

  /** Copies capacitor voltages and all other memory of stages with the same key, as they are: a true thump is heard. Audio thread: allocates nothing. */
  adopt(previous: StageChain): void {
    for (let k = 0; k < this.#links.length; k += 1) {
      const link = this.#links[k]!;
      for (let b = 0; b < previous.#links.length; b += 1) {
        const before = previous.#links[b]!;
        if (before.slot.key !== link.slot.key) continue;
        link.slot.runner.adopt(before.slot.runner, 'carried');
        link.withoutTrial?.runner.adopt((before.withoutTrial ?? before.slot).runner, 'carried');
      }
    }
  }

  /** Whether another plan differs in values alone and can be reached by fading stages. */
  static differsInValuesAlone(from: PathPlan, to: PathPlan): boolean {
    return from.stages.length === to.stages.length && from.stages.every((before, k) => {
      const after = to.stages[k]!;
      return before.key === after.key && before.stage === after.stage && before.reversed === after.reversed && before.onTrial === after.onTrial
        && (before.wiredWithoutTrial === null) === (after.wiredWithoutTrial === null);
    });
  }

  /** Off the callback: makes the runners that a change of values needs; null where one has no room. */
  prepare(plan: PathPlan): PreparedChange | null {
    let fits = true;
    const prepared = (slot: StageSlot | null, planned: PlannedProgram | null): PlacedRunner | null => {
      if (slot === null || planned === null || slot.identity === planned.identity) return null;
      const runner = slot.prepare(planned);
      if (runner === null) fits = false;
      return runner;
    };
    const runners = plan.stages.map(({ wired }, k) => prepared(this.#links[k]!.slot, wired));
    const runnersWithoutTrial = plan.stages.map(({ wiredWithoutTrial }, k) => prepared(this.#links[k]!.withoutTrial, wiredWithoutTrial));
    return fits ? { plan, runners, runnersWithoutTrial } : null;
  }

  apply(change: PreparedChange): void {
    for (let k = 0; k < this.#links.length; k += 1) {
      const link = this.#links[k]!;
      const next = change.runners[k];
      if (next) link.slot.beginFade(next);
      const nextWithout = change.runnersWithoutTrial[k];
      if (nextWithout) link.withoutTrial?.beginFade(nextWithout);
    }
  }

  /**
   * All channels in place. The fade between without (0) and with (the last weight) the stage on trial starts at `trialPosition` steps and moves
   * by `trialStep` a sample.
   */
  process(channels: readonly Float64Array[], frames: number, trialPosition: number, trialStep: number): void {
    const without = this.#without;
    const work = this.#work;
    let apart = false;
    for (let k = 0; k < this.#links.length; k += 1) {
      const link = this.#links[k]!;
      if (link.onTrial) {
        for (let channel = 0; channel < channels.length; channel += 1) {
          if (this.#trialPolarity < 0) work.negate(channels[channel]!, without[channel]!, frames);
          else work.copy(channels[channel]!, without[channel]!, frames);
        }
        link.slot.process(channels, frames);
        apart = true;
        continue;
      }
      if (apart && link.withoutTrial !== null) link.withoutTrial.process(without, frames);
      else if (apart) this.#join(channels, frames, trialPosition, trialStep);
      link.slot.process(channels, frames);
      if (apart && link.withoutTrial !== null) this.#join(channels, frames, trialPosition, trialStep);
      apart = false;
    }
    if (apart) this.#join(channels, frames, trialPosition, trialStep);
  }

  #join(channels: readonly Float64Array[], frames: number, position: number, step: number): void {
    for (let channel = 0; channel < channels.length; channel += 1) {
      this.#work.crossfade(channels[channel]!, this.#without[channel]!, frames, this.#weights, position, step);
    }
  }

  reset(): void {
    for (const { slot, withoutTrial } of this.#links) {
      slot.reset();
      withoutTrial?.reset();
    }
  }
}

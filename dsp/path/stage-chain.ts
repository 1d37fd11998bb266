import type { BlockWork } from './block-work.ts';
import { arraysBytes } from './path-memory.ts';
import type { PathPlan, PlannedStage, PlannedTrial } from './plan.ts';
import { StageSlot } from './stage-slot.ts';
import type { PlacedRunner, SlotSurroundings } from './stage-slot.ts';

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
  readonly directRunners: readonly (PlacedRunner | null)[];
}

/**
 * The stages of a path in series, in volts at the internal rate. A stage on trial is heard through a fade between the chain with it and the
 * chain without it, which run apart from where they differ to where they are alike again. `process` and `apply` are for the audio thread and
 * allocate nothing.
 */
export class StageChain {
  readonly #slots: readonly StageSlot[];
  /** What runs beside the slots from `#trial.first` on. */
  readonly #slotsWithout: readonly StageSlot[];
  /** What stands in the path's place when all of it is out of circuit: one, or none. */
  readonly #direct: readonly StageSlot[];
  readonly #trial: PlannedTrial | null;
  readonly #work: BlockWork;
  readonly #weights: Float64Array;
  readonly #without: readonly Float64Array[];

  /** `maximumFrames` at the internal rate. */
  constructor(plan: PathPlan, maximumFrames: number, surroundings: SlotSurroundings) {
    const { memory, channels, weights } = surroundings;
    const slot = (stage: PlannedStage) => new StageSlot(stage, surroundings);
    this.#work = memory.work;
    this.#weights = weights;
    this.#without = Array.from({ length: channels }, () => memory.floats(maximumFrames));
    this.#trial = plan.trial;
    this.#slots = plan.stages.map(slot);
    this.#slotsWithout = withoutTrial(plan).map(slot);
    this.#direct = directOf(plan).map(slot);
  }

  /** Room in a path's memory. */
  static bytes(plan: PathPlan, channels: number, maximumFrames: number): number {
    return [...plan.stages, ...withoutTrial(plan), ...directOf(plan)].reduce((sum, { wired }) => sum + StageSlot.bytes(wired.program, channels), arraysBytes(channels, maximumFrames));
  }

  get fading(): boolean {
    return anyFades(this.#slots) || anyFades(this.#slotsWithout) || anyFades(this.#direct);
  }

  /** Adds what the stages counted. Audio thread: allocates nothing. */
  addCounters(into: PathCounters): void {
    for (let k = 0; k < this.#slots.length; k += 1) {
      const { counters } = this.#slots[k]!.runner;
      into.samples += counters.samples;
      into.evaluations += counters.evaluations;
      into.rescues += counters.rescues;
      into.capHits += counters.capHits;
      into.nonFinite += counters.nonFinite;
    }
  }

  /** Copies capacitor voltages and all other memory of stages with the same key, as they are: a true thump is heard. Audio thread: allocates nothing. */
  adopt(previous: StageChain): void {
    adoptAll(this.#slots, previous.#slots, previous.#slots);
    adoptAll(this.#slotsWithout, previous.#slotsWithout, previous.#slots);
    adoptAll(this.#direct, previous.#direct, previous.#direct);
  }

  /** Whether another plan differs in values alone and can be reached by fading stages. */
  static differsInValuesAlone(from: PathPlan, to: PathPlan): boolean {
    return sameInOrder(from.stages, to.stages) && sameInOrder(withoutTrial(from), withoutTrial(to)) && sameInOrder(directOf(from), directOf(to))
      && from.trial?.first === to.trial?.first && from.trial?.end === to.trial?.end && from.trial?.turned === to.trial?.turned;
  }

  /** Off the callback: makes the runners that a change of values needs; null where one has no room. */
  prepare(plan: PathPlan): PreparedChange | null {
    let fits = true;
    const prepared = (slots: readonly StageSlot[], stages: readonly PlannedStage[]) => slots.map((slot, k): PlacedRunner | null => {
      const planned = stages[k]!.wired;
      if (slot.identity === planned.identity) return null;
      const runner = slot.prepare(planned);
      if (runner === null) fits = false;
      return runner;
    });
    const change = {
      plan,
      runners: prepared(this.#slots, plan.stages),
      runnersWithoutTrial: prepared(this.#slotsWithout, withoutTrial(plan)),
      directRunners: prepared(this.#direct, directOf(plan)),
    };
    return fits ? change : null;
  }

  apply(change: PreparedChange): void {
    const { plan } = change;
    beginFades(this.#slots, change.runners, plan.stages);
    beginFades(this.#slotsWithout, change.runnersWithoutTrial, withoutTrial(plan));
    beginFades(this.#direct, change.directRunners, directOf(plan));
  }

  /**
   * All channels in place. The fade between without (0) and with (the last weight) the stage on trial starts at `trialPosition` steps and moves
   * by `trialStep` a sample.
   */
  process(channels: readonly Float64Array[], frames: number, trialPosition: number, trialStep: number): void {
    const trial = this.#trial;
    for (let k = 0; k < this.#slots.length; k += 1) {
      if (trial !== null && k === trial.first) this.#fork(channels, frames, trial.turned);
      this.#slots[k]!.process(channels, frames);
      if (trial !== null && k === trial.end - 1) this.#join(channels, frames, trialPosition, trialStep);
    }
  }

  /** Whether there are surroundings that the source drives past the path. */
  get hasDirect(): boolean {
    return this.#direct.length > 0;
  }

  /** What the surroundings do to the signal without the path, all channels in place. */
  processDirect(channels: readonly Float64Array[], frames: number): void {
    for (let k = 0; k < this.#direct.length; k += 1) this.#direct[k]!.process(channels, frames);
  }

  #fork(channels: readonly Float64Array[], frames: number, turned: boolean): void {
    const without = this.#without;
    for (let channel = 0; channel < channels.length; channel += 1) {
      if (turned) this.#work.negate(channels[channel]!, without[channel]!, frames);
      else this.#work.copy(channels[channel]!, without[channel]!, frames);
    }
    for (let k = 0; k < this.#slotsWithout.length; k += 1) this.#slotsWithout[k]!.process(without, frames);
  }

  #join(channels: readonly Float64Array[], frames: number, position: number, step: number): void {
    for (let channel = 0; channel < channels.length; channel += 1) {
      this.#work.crossfade(channels[channel]!, this.#without[channel]!, frames, this.#weights, position, step);
    }
  }

  reset(): void {
    for (const slot of this.#slots) slot.reset();
    for (const slot of this.#slotsWithout) slot.reset();
    for (const slot of this.#direct) slot.reset();
  }
}

const withoutTrial = ({ trial }: PathPlan): readonly PlannedStage[] => trial?.without ?? [];
const directOf = ({ direct }: PathPlan): readonly PlannedStage[] => (direct === null ? [] : [direct]);

function sameInOrder(from: readonly PlannedStage[], to: readonly PlannedStage[]): boolean {
  return from.length === to.length && from.every((before, k) => {
    const after = to[k]!;
    return before.key === after.key && before.stage === after.stage && before.reversed === after.reversed && before.onTrial === after.onTrial && before.loaded === after.loaded
      && before.members.length === after.members.length
      && before.members.every((member, m) => member.key === after.members[m]!.key && member.stage === after.members[m]!.stage);
  });
}

/** Audio thread: allocates nothing, as the two below. */
function anyFades(slots: readonly StageSlot[]): boolean {
  for (let k = 0; k < slots.length; k += 1) if (slots[k]!.fading) return true;
  return false;
}

function beginFades(slots: readonly StageSlot[], runners: readonly (PlacedRunner | null)[], stages: readonly PlannedStage[]): void {
  for (let k = 0; k < slots.length; k += 1) {
    slots[k]!.noise.plan(stages[k]!.noise ?? null);
    const next = runners[k];
    if (next) slots[k]!.beginFade(next);
  }
}

/** Takes over from the slot of the same key among `previous`, or else among `others`. */
function adoptAll(slots: readonly StageSlot[], previous: readonly StageSlot[], others: readonly StageSlot[]): void {
  for (let k = 0; k < slots.length; k += 1) {
    const slot = slots[k]!;
    const before = slotOf(previous, slot.key) ?? slotOf(others, slot.key);
    if (before === null) continue;
    slot.runner.adopt(before.runner, 'carried');
    slot.noise.adopt(before.noise);
  }
}

function slotOf(slots: readonly StageSlot[], key: string): StageSlot | null {
  for (let k = 0; k < slots.length; k += 1) if (slots[k]!.key === key) return slots[k]!;
  return null;
}

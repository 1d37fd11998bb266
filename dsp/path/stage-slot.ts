import { createStageRunner, stageRunnerBytes, type SolverTolerance, type StageProgram, type StageRunner } from '../stages/index.ts';
import type { Arena } from '../webassembly/index.ts';
import type { BlockWork } from './block-work.ts';
import type { PathMemory } from './path-memory.ts';
import { NoiseAdder } from './noise-adder.ts';
import type { PlannedProgram, PlannedStage } from './plan.ts';

/** A runner, what it runs, and the part of the path's memory that it has for itself. */
export interface PlacedRunner {
  readonly runner: StageRunner;
  readonly identity: string;
  readonly area: Arena | null;
}

/** Heard, fading out, and prepared. */
const areaCount = 3;

/** What slots of a path share. */
export interface SlotSurroundings {
  readonly memory: PathMemory;
  readonly channels: number;
  /** Samples at the internal rate for one at the base rate. */
  readonly factor: number;
  readonly tolerance: SolverTolerance;
  /** A fade at the internal rate. */
  readonly weights: Float64Array;
  /** A block of every channel. */
  readonly scratch: readonly Float64Array[];
}

/**
 * One stage in its place: the runner that is heard and, during a change of value, the one that is being faded out. Both are fed the same
 * signal, so only a stage that changed runs twice. Runners take turns in three areas of memory, so that values can be turned for ever.
 */
export class StageSlot {
  readonly key: string;
  readonly noise: NoiseAdder;
  readonly #reversed: boolean;
  readonly #surroundings: SlotSurroundings;
  readonly #work: BlockWork;
  readonly #areas: readonly Arena[];
  readonly #areaBytes: number;
  #heard: PlacedRunner;
  #outgoing: PlacedRunner | null = null;
  #position = 0;

  constructor({ key, wired: planned, reversed, noise }: Pick<PlannedStage, 'key' | 'wired' | 'reversed' | 'noise'>, surroundings: SlotSurroundings) {
    const { memory, channels, factor } = surroundings;
    const { home } = memory;
    this.key = key;
    this.noise = new NoiseAdder(noise ?? null, channels, factor);
    this.#reversed = reversed;
    this.#surroundings = surroundings;
    this.#work = memory.work;
    this.#areaBytes = areaBytes(planned.program, channels);
    this.#areas = home === null ? [] : Array.from({ length: areaCount }, () => home.arena.part(this.#areaBytes));
    this.#heard = this.#placed(planned, this.#areas[0] ?? null);
  }

  /** Room in a path's memory. */
  static bytes(program: StageProgram, channels: number): number {
    return areaCount * (areaBytes(program, channels) + 16);
  }

  get runner(): StageRunner {
    return this.#heard.runner;
  }
  get identity(): string {
    return this.#heard.identity;
  }
  get fading(): boolean {
    return this.#outgoing !== null;
  }

  /**
   * A runner for the slot's next program, in place of one prepared before; null where an area has no room for it (or would have none: what fits must not depend on the back end).
   * Off the callback, allocates.
   */
  prepare(planned: PlannedProgram): PlacedRunner | null {
    if (stageRunnerBytes(planned.program, this.#surroundings.channels) > this.#areaBytes) return null;
    const area = this.#areas.find((each) => each !== this.#heard.area && each !== this.#outgoing?.area) ?? null;
    area?.clear();
    return this.#placed(planned, area);
  }

  /** Starts the fade to a prepared runner, which takes over the memory. Audio thread: allocates nothing. */
  beginFade(next: PlacedRunner): void {
    next.runner.adopt(this.#heard.runner, 'settled');
    this.#outgoing = this.#heard;
    this.#heard = next;
    this.#position = 0;
  }

  /** Volts at the internal rate, in place. Audio thread: allocates nothing. */
  process(channels: readonly Float64Array[], frames: number): void {
    const work = this.#work;
    const { scratch, weights } = this.#surroundings;
    const outgoing = this.#outgoing;
    if (outgoing === null) {
      this.#heard.runner.process(channels, 0, frames);
    } else {
      for (let channel = 0; channel < channels.length; channel += 1) work.copy(channels[channel]!, scratch[channel]!, frames);
      outgoing.runner.process(scratch, 0, frames);
      this.#heard.runner.process(channels, 0, frames);
      for (let channel = 0; channel < channels.length; channel += 1) work.crossfade(channels[channel]!, scratch[channel]!, frames, weights, this.#position, 1);
      this.#position += frames;
      if (this.#position >= weights.length - 1) this.#outgoing = null;
    }
    this.noise.add(channels, frames);
    if (this.#reversed) for (let channel = 0; channel < channels.length; channel += 1) work.negate(channels[channel]!, channels[channel]!, frames);
  }

  reset(): void {
    this.#outgoing = null;
    this.#heard.runner.reset();
    this.noise.reset();
  }

  #placed({ program, identity }: PlannedProgram, area: Arena | null): PlacedRunner {
    const { memory: { home }, channels, tolerance } = this.#surroundings;
    const place = home === null || area === null ? null : { memory: home.memory, arena: area };
    return { runner: createStageRunner(program, channels, tolerance, place), identity, area };
  }
}

/** Half as much again as the stage's dearest rule takes: room for values that change what is wired. */
function areaBytes(program: StageProgram, channels: number): number {
  return 16 * Math.ceil((1.5 * stageRunnerBytes(program, channels, 'dearest rule')) / 16);
}

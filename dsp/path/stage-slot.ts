import { createStageRunner, type SolverTolerance, type StageRunner } from '../stages/index.ts';
import { copyFrames, negate } from './block-work.ts';
import { crossfade } from './fade.ts';
import type { PlannedProgram } from './plan.ts';

/**
 * One stage in its place: the runner that is heard and, during a change of value, the one that is being faded out. Both are fed the same
 * signal, so only a stage that changed runs twice.
 */
export class StageSlot {
  readonly key: string;
  identity: string;
  runner: StageRunner;
  readonly #reversed: boolean;
  readonly #channels: number;
  readonly #tolerance: SolverTolerance;
  readonly #weights: Float64Array;
  readonly #scratch: readonly Float64Array[];
  #outgoing: StageRunner | null = null;
  #position = 0;

  /** `weights` spans a fade at the internal rate; `scratch` holds a block of every channel and may be shared by slots. */
  constructor(
    key: string, planned: PlannedProgram, reversed: boolean, channels: number, tolerance: SolverTolerance, weights: Float64Array,
    scratch: readonly Float64Array[],
  ) {
    this.key = key;
    this.identity = planned.identity;
    this.runner = createStageRunner(planned.program, channels, tolerance);
    this.#reversed = reversed;
    this.#channels = channels;
    this.#tolerance = tolerance;
    this.#weights = weights;
    this.#scratch = scratch;
  }

  get fading(): boolean {
    return this.#outgoing !== null;
  }

  /** A runner for the slot's next program; off the callback, allocates. */
  prepare(planned: PlannedProgram): StageRunner {
    return createStageRunner(planned.program, this.#channels, this.#tolerance);
  }

  /** Starts the fade to a prepared runner, which takes over the memory. Audio thread: allocates nothing. */
  beginFade(runner: StageRunner, identity: string): void {
    runner.adopt(this.runner, 'settled');
    this.#outgoing = this.runner;
    this.runner = runner;
    this.identity = identity;
    this.#position = 0;
  }

  /** Volts at the internal rate, in place. Audio thread: allocates nothing. */
  process(channels: readonly Float64Array[], frames: number): void {
    const outgoing = this.#outgoing;
    if (outgoing === null) {
      this.runner.process(channels, 0, frames);
    } else {
      const scratch = this.#scratch;
      for (let channel = 0; channel < this.#channels; channel += 1) copyFrames(channels[channel]!, scratch[channel]!, frames);
      outgoing.process(scratch, 0, frames);
      this.runner.process(channels, 0, frames);
      for (let channel = 0; channel < this.#channels; channel += 1) crossfade(channels[channel]!, scratch[channel]!, frames, this.#weights, this.#position, 1);
      this.#position += frames;
      if (this.#position >= this.#weights.length - 1) this.#outgoing = null;
    }
    if (this.#reversed) for (let channel = 0; channel < this.#channels; channel += 1) negate(channels[channel]!, channels[channel]!, frames);
  }

  reset(): void {
    this.#outgoing = null;
    this.runner.reset();
  }
}

import { createStageRunner, type SolverTolerance, type StageRunner } from '../stages/index.ts';
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
  readonly #scratch: Float64Array;
  #outgoing: StageRunner | null = null;
  #position = 0;

  /** `weights` spans a fade at the internal rate; `scratch` holds a block and may be shared by slots. */
  constructor(
    key: string, planned: PlannedProgram, reversed: boolean, channels: number, tolerance: SolverTolerance, weights: Float64Array, scratch: Float64Array,
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

  /** Volts at the internal rate, in place. Call `advance` once all channels are done. Audio thread: allocates nothing. */
  process(channel: number, buffer: Float64Array, frames: number): void {
    const outgoing = this.#outgoing;
    if (outgoing !== null) {
      const scratch = this.#scratch;
      for (let i = 0; i < frames; i += 1) scratch[i] = buffer[i]!;
      outgoing.process(channel, scratch, 0, frames);
      this.runner.process(channel, buffer, 0, frames);
      crossfade(buffer, scratch, frames, this.#weights, this.#position, 1);
    } else {
      this.runner.process(channel, buffer, 0, frames);
    }
    if (this.#reversed) for (let i = 0; i < frames; i += 1) buffer[i] = 0 - buffer[i]!;
  }

  /** Audio thread: allocates nothing. */
  advance(frames: number): void {
    if (this.#outgoing === null) return;
    this.#position += frames;
    if (this.#position >= this.#weights.length - 1) this.#outgoing = null;
  }

  reset(): void {
    this.#outgoing = null;
    this.runner.reset();
  }
}

import { mixSize, type BlockWork, type MixNumbers } from './block-work.ts';
import { fadeFrames, fadeWeights } from './fade.ts';
import { arraysBytes, type PathMemory } from './path-memory.ts';
import type { Mixer } from './trial-mix.ts';

/**
 * Where the two ways of what is on trial meet at the base rate, and where one path fades to the next. Methods are for the audio thread and allocate nothing.
 */
export class OutputBus implements Mixer {
  readonly work: BlockWork;
  readonly weights: Float64Array;
  readonly mixNumbers: MixNumbers;
  /** What is in, and after the mix what is heard: one array a channel. */
  readonly outputs: readonly Float64Array[];
  /** What is out. */
  readonly others: readonly Float64Array[];
  readonly #before: readonly Float64Array[];

  constructor(memory: PathMemory, baseRateHz: number, channels: number, maximumFrames: number) {
    const fade = fadeFrames(baseRateHz);
    const blocks = (): Float64Array[] => Array.from({ length: channels }, () => memory.floats(maximumFrames));
    this.work = memory.work;
    this.mixNumbers = memory.floats(mixSize);
    this.weights = fadeWeights(fade, memory.floats(fade + 1));
    this.outputs = blocks();
    this.others = blocks();
    this.#before = blocks();
  }

  /** Room in a path's memory. */
  static bytes(baseRateHz: number, channels: number, maximumFrames: number): number {
    return arraysBytes(1, mixSize) + arraysBytes(1, fadeFrames(baseRateHz) + 1) + arraysBytes(3 * channels, maximumFrames);
  }

  /** Fades `outputs` from what another path put out, whose block may be as long; `position` in base frames. */
  fadeFrom(previous: readonly Float64Array[], frames: number, position: number): void {
    for (let channel = 0; channel < this.outputs.length; channel += 1) {
      const before = this.#before[channel]!;
      before.set(previous[channel]!);
      this.work.crossfade(this.outputs[channel]!, before, frames, this.weights, position, 1);
    }
  }
}

import type { InputChannels, TapRequest } from '../messages.ts';
import { HowlGuard } from './howl-guard.ts';
import { InputSource } from './input-source.ts';
import { SampleTap } from './sample-tap.ts';

/**
 * A live input as the source of the path: what of it is handed on to be kept, and the watch for a howl. Audio thread: `fill` and `howls` allocate nothing (but for the batches posted where there is no
 * shared memory), never throw.
 */
export class LiveListening {
  /** Whether it is the source. */
  on = false;
  /** Of the howl that was told last. */
  frequencyHz = 0;
  readonly #rateHz: number;
  readonly #longestBlock: number;
  readonly #source = new InputSource();
  readonly #guards: readonly HowlGuard[];
  readonly #monitored: readonly Float64Array[];
  #catch: SampleTap | null = null;
  #peak = 0;

  /** `longestBlock`: frames that `fill` is called with at most; `ceiling`: of the monitor's limiter. */
  constructor(rateHz: number, longestBlock: number, ceiling: number) {
    this.#rateHz = rateHz;
    this.#longestBlock = longestBlock;
    this.#guards = [new HowlGuard(rateHz, ceiling), new HowlGuard(rateHz, ceiling)];
    this.#monitored = [new Float64Array(longestBlock), new Float64Array(longestBlock)];
  }

  get channelCount(): 1 | 2 {
    return this.#source.channelCount;
  }

  /** What goes to the monitor: filled in before `howls` is asked. */
  get monitored(): readonly Float64Array[] {
    return this.#monitored;
  }

  begin(channels: InputChannels): void {
    this.#source.channels = channels;
    this.on = true;
    for (const guard of this.#guards) guard.reset();
  }

  end(): void {
    this.on = false;
    this.#catch?.pause();
  }

  /** Where what comes in is kept; null: nowhere. */
  keepIn(tap: TapRequest | null): void {
    this.#catch?.close();
    this.#catch = tap === null ? null : new SampleTap(tap, this.#rateHz, this.#longestBlock);
  }

  fill(input: readonly Float32Array[], offset: number, outputs: readonly Float64Array[], frames: number): void {
    this.takeIn(input, offset, outputs, frames);
    this.#catch?.take(outputs, outputs, this.channelCount, frames);
  }

  /** What comes in, with nothing of it kept. */
  takeIn(input: readonly Float32Array[], offset: number, outputs: readonly Float64Array[], frames: number): void {
    this.#peak = this.#source.fill(input, offset, outputs, frames);
  }

  /** Nothing is heard: what is kept next does not join on, and a howl begins anew. */
  pause(): void {
    this.#catch?.pause();
    for (const guard of this.#guards) guard.reset();
  }

  howls(channels: number, frames: number): boolean {
    for (let channel = 0; channel < channels; channel += 1) {
      const guard = this.#guards[channel]!;
      if (!guard.take(this.#monitored[channel]!, frames, this.#peak)) continue;
      this.frequencyHz = guard.frequencyHz;
      return true;
    }
    return false;
  }
}

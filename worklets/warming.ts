import { SeededRandom } from '../dsp/math/index.ts';
import type { PathRunner } from '../dsp/path/index.ts';

/** Chunks of noise a path runs into the void before the first sound. */
const warmingChunks = 12;

/**
 * Noise like programme, loud enough to reach the rescue, with a switch and a take-over on the way: what a path's code needs to have been through once, so that it is compiled
 * well when it counts. In the first chunk a path like it takes over. Machine code belongs to the module, whichever thread ran it: what was warmed up in a worker is warm on the audio thread. The path must be reset afterwards.
 */
export class Warming {
  #toGo = warmingChunks;
  readonly #noise = new SeededRandom(20261125);

  /** `runner`: that which the first chunk will run. Prepares its take-over: not for the callback. */
  constructor(runner: PathRunner) {
    runner.rehearse();
  }

  get done(): boolean {
    return this.#toGo === 0;
  }

  /** One more chunk; `inputs` and `outputs` are overwritten. Audio thread: allocates nothing. */
  run(runner: PathRunner, inputs: readonly Float64Array[], outputs: readonly Float64Array[], frames: number): void {
    const loud = this.#toGo % 4 === 0 ? 1 : 0.1;
    for (let channel = 0; channel < runner.channels; channel += 1) {
      const input = inputs[channel]!;
      for (let i = 0; i < frames; i += 1) input[i] = loud * (2 * this.#noise.nextUnit() - 1);
    }
    if (this.#toGo === warmingChunks - 4) runner.setTrialIn(false);
    if (this.#toGo === warmingChunks - 8) runner.setTrialIn(true);
    runner.process(inputs, outputs, frames);
    this.#toGo -= 1;
  }
}

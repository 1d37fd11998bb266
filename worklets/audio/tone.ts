import { sin } from '../../dsp/math/index.ts';
import { ReferenceNoise } from './reference-noise.ts';

/** A sine, or the reference noise, as a source. Audio thread: `fill` allocates nothing, never throws. */
export class Tone {
  #cyclesPerFrame = 0;
  #phase = 0;
  #peak = 0;
  #noise: ReferenceNoise | null = null;

  start(frequencyHz: number, peak: number, rateHz: number): void {
    this.#cyclesPerFrame = frequencyHz / rateHz;
    this.#peak = peak;
    this.#phase = 0;
    this.#noise = null;
  }

  /** Allocates: not from the callback. */
  prepareNoise(rms: number, rateHz: number): () => void {
    const noise = new ReferenceNoise(rms, rateHz);
    return () => { this.#noise = noise; };
  }

  fill(output: Float64Array, frames: number): void {
    if (this.#noise !== null) {
      this.#noise.fill(output, frames);
      return;
    }
    for (let i = 0; i < frames; i += 1) {
      output[i] = this.#peak * sin(2 * Math.PI * this.#phase);
      this.#phase += this.#cyclesPerFrame;
      if (this.#phase >= 1) this.#phase -= 1;
    }
  }
}

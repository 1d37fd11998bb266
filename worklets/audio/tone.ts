import { sin } from '../../dsp/math/index.ts';

/** A sine as a source. Audio thread: allocates nothing, never throws. */
export class Tone {
  #cyclesPerFrame = 0;
  #phase = 0;
  #peak = 0;

  start(frequencyHz: number, peak: number, rateHz: number): void {
    this.#cyclesPerFrame = frequencyHz / rateHz;
    this.#peak = peak;
    this.#phase = 0;
  }

  fill(output: Float64Array, frames: number): void {
    for (let i = 0; i < frames; i += 1) {
      output[i] = this.#peak * sin(2 * Math.PI * this.#phase);
      this.#phase += this.#cyclesPerFrame;
      if (this.#phase >= 1) this.#phase -= 1;
    }
  }
}

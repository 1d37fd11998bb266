import { burstFrames, probeFrames, type LoopbackProbe } from '../../dsp/measure/index.ts';

const fadeSeconds = 0.01;

/**
 * Plays the bursts of a loopback measurement and records what comes in, from the same frame on: nothing of the bench's own delay is between the two.
 * Made between callbacks. Audio thread: `run` and `stop` allocate nothing, never throw.
 */
export class LoopbackRun {
  /** What came in, as far as it was recorded. */
  readonly recording: Float64Array<ArrayBuffer>;
  readonly #probe: LoopbackProbe;
  readonly #peak: number;
  readonly #fadeFrames: number;
  #frame = 0;
  /** Frames of the fade that are left after `stop`. */
  #fading: number | null = null;

  /** `peak`: of full scale. */
  constructor(probe: LoopbackProbe, peak: number, rateHz: number) {
    this.#probe = probe;
    this.#peak = peak;
    this.#fadeFrames = Math.round(fadeSeconds * rateHz);
    this.recording = new Float64Array(probeFrames(probe));
  }

  /** Silent within 10 ms, and over. */
  stop(): void {
    this.#fading ??= this.#fadeFrames;
  }

  /** Puts the bursts out on every channel and takes `came` in; true when it is over. */
  run(came: Float64Array, output: readonly Float32Array[], offset: number, frames: number): boolean {
    for (let i = 0; i < frames && !this.over; i += 1) {
      this.recording[this.#frame] = came[i]!;
      const place = this.#frame % this.#probe.spacingFrames;
      const gain = this.#fading === null ? 1 : this.#fading / this.#fadeFrames;
      const sample = place < burstFrames ? gain * this.#peak * this.#probe.burst[place]! : 0;
      for (let channel = 0; channel < output.length; channel += 1) output[channel]![offset + i] = sample;
      this.#frame += 1;
      if (this.#fading !== null) this.#fading -= 1;
    }
    return this.over;
  }

  get over(): boolean {
    return this.#fading === 0 || this.#frame === this.recording.length;
  }

  /** Whether all of it was played and recorded. */
  get complete(): boolean {
    return this.#fading === null && this.#frame === this.recording.length;
  }
}

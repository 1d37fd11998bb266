/** Longest stretch of a live input that is kept, seconds. */
export const keptSeconds = 30;

/**
 * The last half minute of a live input: samples as they came, in single precision as devices give them (the mean of two channels is rounded to it). What does not join on drops what was kept before.
 */
export class KeptInput {
  readonly #rateHz: number;
  readonly #rings: readonly Float32Array[];
  #channels = 1;
  #written = 0;
  #held = 0;
  #peak = 0;

  constructor(rateHz: number) {
    this.#rateHz = rateHz;
    const frames = Math.ceil(keptSeconds * rateHz);
    this.#rings = [new Float32Array(frames), new Float32Array(frames)];
  }

  get heldSeconds(): number {
    return this.#held / this.#rateHz;
  }

  push(channels: readonly Float64Array[], frames: number, joined: boolean): void {
    if (!joined || channels.length !== this.#channels) this.#held = 0;
    this.#channels = channels.length;
    const length = this.#rings[0]!.length;
    channels.forEach((samples, channel) => {
      const ring = this.#rings[channel]!;
      for (let i = 0; i < frames; i += 1) {
        ring[(this.#written + i) % length] = samples[i]!;
        this.#peak = Math.max(this.#peak, Math.abs(samples[i]!));
      }
    });
    this.#written = (this.#written + frames) % length;
    this.#held = Math.min(length, this.#held + frames);
  }

  /** Largest magnitude since it was asked last. */
  takePeak(): number {
    const peak = this.#peak;
    this.#peak = 0;
    return peak;
  }

  /** The last `seconds`, or all where less is held, one array a channel; null where nothing is. */
  last(seconds: number): Float64Array<ArrayBuffer>[] | null {
    const frames = Math.min(this.#held, Math.round(seconds * this.#rateHz));
    if (frames === 0) return null;
    const length = this.#rings[0]!.length;
    return this.#rings.slice(0, this.#channels).map((ring) => Float64Array.from({ length: frames }, (_, i) => ring[(this.#written - frames + i + length) % length]!));
  }
}

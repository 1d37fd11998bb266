/** −1 dBFS. */
export const limiterCeiling = 0.8912509381337456;

/**
 * The monitor's safety: no sample above the ceiling, both channels turned down together. The gain falls at once and comes back with the
 * release time. It guards ears and loudspeakers, it does not flatter: nothing that is measured passes it. Audio thread: allocates nothing.
 */
export class MonitorLimiter {
  /** Smallest gain since `takeSmallest`. */
  #smallest = 1;
  #gain = 1;
  readonly #release: number;
  readonly #ceiling: number;

  constructor(rateHz: number, ceiling = limiterCeiling, releaseSeconds = 0.2) {
    this.#ceiling = ceiling;
    this.#release = Math.exp(-1 / (releaseSeconds * rateHz));
  }

  /** Gain for a frame whose larger sample has this magnitude. */
  gainFor(magnitude: number): number {
    const recovered = 1 - (1 - this.#gain) * this.#release;
    const allowed = magnitude > this.#ceiling ? this.#ceiling / magnitude : 1;
    this.#gain = allowed < recovered ? allowed : recovered > 0.9999 ? 1 : recovered;
    if (this.#gain < this.#smallest) this.#smallest = this.#gain;
    return this.#gain < allowed ? this.#gain : allowed;
  }

  takeSmallest(): number {
    const smallest = this.#smallest;
    this.#smallest = this.#gain;
    return smallest;
  }
}

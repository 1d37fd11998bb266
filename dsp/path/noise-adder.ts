import type { PlannedNoise } from './noise-shape.ts';
import { NoiseSource } from './noise-source.ts';

/**
 * Adds to what one stage puts out the noise of its parts and the ripple that its rails let through; nothing while it has no plan. What is added does not follow the signal. Every method but the constructor is
 * for the audio thread: allocates nothing, never throws.
 */
export class NoiseAdder {
  #planned: PlannedNoise | null;
  readonly #sources: NoiseSource[] = [];
  readonly #factor: number;
  #ripplePosition = 0;

  /** `factor`: samples at the internal rate for one at the base rate. */
  constructor(planned: PlannedNoise | null, channels: number, factor: number) {
    this.#planned = planned;
    this.#factor = factor;
    for (let channel = 0; channel < channels; channel += 1) this.#sources.push(new NoiseSource(planned?.seed ?? 0, planned?.place ?? 0, channel));
  }

  /** From now on by another plan; the streams of numbers go on, unless they had not begun. */
  plan(next: PlannedNoise | null): void {
    const before = this.#planned;
    if (next !== null && (before === null || before.seed !== next.seed || before.place !== next.place)) {
      for (let channel = 0; channel < this.#sources.length; channel += 1) this.#sources[channel]!.reseed(next.seed, next.place, channel);
    }
    this.#planned = next;
  }

  /** Goes on where another one of the same stage stands, wherever in the path that was. */
  adopt(before: NoiseAdder): void {
    if (before.#planned !== null && before.#planned.seed === this.#planned?.seed) for (let channel = 0; channel < this.#sources.length; channel += 1) this.#sources[channel]!.adopt(before.#sources[channel]!);
    this.#ripplePosition = before.#ripplePosition;
  }

  reset(): void {
    for (let channel = 0; channel < this.#sources.length; channel += 1) this.#sources[channel]!.reset();
    this.#ripplePosition = 0;
  }

  /** All channels in place; `frames` at the internal rate, a multiple of the factor. */
  add(channels: readonly Float64Array[], frames: number): void {
    const planned = this.#planned;
    if (planned === null) return;
    const { shape, ripple } = planned;
    if (shape !== null) for (let channel = 0; channel < this.#sources.length; channel += 1) this.#sources[channel]!.add(shape, channels[channel]!, frames / this.#factor, this.#factor);
    if (ripple === null) return;
    const length = ripple.length;
    // A table of another length (another ripple frequency) is entered where the old one stood.
    const first = this.#ripplePosition % length;
    let at = first;
    for (let channel = 0; channel < this.#sources.length; channel += 1) {
      const into = channels[channel]!;
      at = first;
      for (let i = 0; i < frames; i += 1) {
        into[i] = into[i]! + ripple[at]!;
        at += 1;
        if (at === length) at = 0;
      }
    }
    this.#ripplePosition = at;
  }
}

/** Whole frames of delay at the base rate, none included. All but the constructor is for the audio thread and allocates nothing. */
export class DelayLine {
  readonly #line: Float64Array;
  #at = 0;

  constructor(delayFrames: number) {
    this.#line = new Float64Array(delayFrames);
  }

  /** The first `frames` of `from`, delayed, into `to`: another array. */
  process(from: Float64Array, to: Float64Array, frames: number): void {
    const line = this.#line;
    if (line.length === 0) {
      for (let i = 0; i < frames; i += 1) to[i] = from[i]!;
      return;
    }
    let at = this.#at;
    for (let i = 0; i < frames; i += 1) {
      to[i] = line[at]!;
      line[at] = from[i]!;
      at = at + 1 === line.length ? 0 : at + 1;
    }
    this.#at = at;
  }

  reset(): void {
    this.#line.fill(0);
    this.#at = 0;
  }
}

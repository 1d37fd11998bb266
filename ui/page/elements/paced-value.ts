/** Hands values on no more often than every so many milliseconds; the newest always arrives. */
export class PacedValue<T> {
  #lastMs = -Infinity;
  #waiting: ReturnType<typeof setTimeout> | undefined;
  #newest: T | undefined;
  readonly #everyMs: () => number;
  readonly #deliver: (value: T) => void;

  /** @param everyMs asked anew each time, for the reader may come to want less motion */
  constructor(everyMs: () => number, deliver: (value: T) => void) {
    this.#everyMs = everyMs;
    this.#deliver = deliver;
  }

  offer(value: T): void {
    this.#newest = value;
    if (this.#waiting !== undefined) return;
    const restMs = this.#lastMs + this.#everyMs() - performance.now();
    if (restMs <= 0) this.#hand();
    else this.#waiting = setTimeout(() => this.#hand(), restMs);
  }

  stop(): void {
    clearTimeout(this.#waiting);
    this.#waiting = undefined;
  }

  #hand(): void {
    this.#waiting = undefined;
    this.#lastMs = performance.now();
    this.#deliver(this.#newest as T);
  }
}

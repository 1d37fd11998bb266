/** Progress on stderr, only where somebody is looking. */
export class Progress {
  readonly #what: string;
  readonly #shown = process.stderr.isTTY === true;
  #lastPercent = -1;

  constructor(what: string) {
    this.#what = what;
  }

  report(fraction: number): void {
    const percent = Math.floor(100 * fraction);
    if (!this.#shown || percent === this.#lastPercent) return;
    this.#lastPercent = percent;
    process.stderr.write(`\r${this.#what} ${percent} %`);
  }

  done(): void {
    if (this.#shown) process.stderr.write('\r\u001b[K');
  }
}

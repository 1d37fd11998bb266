/** Asks the pool for the figures of the whole path once its changes have settled; a newer path ends the older request. */
import * as Comlink from 'comlink';
import type { PathFiguresAnswer, PathFiguresRequest } from '../../../worklets/messages.ts';
import type { Pool } from '../../../worklets/workers/pool.ts';

/** Quiet time after the last change: after the clip levels are sought, with the match. */
const settledMilliseconds = 500;

export class PathFigures {
  readonly #pool: Comlink.Remote<Pool>;
  readonly #hear: (answer: PathFiguresAnswer) => void;
  readonly #fail: (error: unknown) => void;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(pool: Comlink.Remote<Pool>, hear: (answer: PathFiguresAnswer) => void, fail: (error: unknown) => void) {
    this.#pool = pool;
    this.#hear = hear;
    this.#fail = fail;
  }

  want(request: PathFiguresRequest): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#ask(request), settledMilliseconds);
  }

  dispose(): void {
    clearTimeout(this.#timer);
  }

  async #ask(request: PathFiguresRequest): Promise<void> {
    try {
      await this.#pool.figures(request, Comlink.proxy(this.#hear));
    } catch (error) {
      this.#fail(error);
    }
  }
}

/** What the plate shows: written by the engine as points arrive, past the state, and read by the plate. */
import type { Figure } from '../../dsp/measure/figures/index.ts';

export interface ShownFigure {
  /** Whose it is. */
  readonly view: string;
  /** Of the points that have come; null: none yet. */
  readonly figure: Figure | null;
  /** Parts of the work that are done, and all of them. */
  readonly done: number;
  readonly parts: number;
  /** The figure is older than what it is asked of, or not all of its points have come. */
  readonly updating: boolean;
  /** Why there is none: a sentence. */
  readonly refusal: string | null;
}

export class FigureFeed {
  #shown: ShownFigure | null = null;
  readonly #listeners = new Set<() => void>();

  get shown(): ShownFigure | null {
    return this.#shown;
  }

  show(shown: ShownFigure | null): void {
    this.#shown = shown;
    for (const listener of this.#listeners) listener();
  }

  /** Returns the way to stop listening. */
  subscribe(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }
}

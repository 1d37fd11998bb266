import type { LitElement, ReactiveController } from 'lit';

/** When what has the focus goes with a change of what is drawn, the focus goes to this place of the same element, not to the page's beginning. */
export class KeptFocus implements ReactiveController {
  readonly #host: LitElement;
  readonly #place: string;
  #focused: Element | null = null;

  /** @param place selector of something that can have the focus */
  constructor(host: LitElement, place: string) {
    this.#host = host;
    this.#place = place;
    host.addController(this);
  }

  hostUpdate(): void {
    this.#focused = this.#root?.activeElement ?? null;
  }

  hostUpdated(): void {
    if (this.#focused === null || this.#focused.isConnected) return;
    // Where the change itself put it, such as on an answer, it stays.
    queueMicrotask(() => {
      if (document.activeElement === document.body) this.#root?.querySelector<HTMLElement>(this.#place)?.focus();
    });
    this.#focused = null;
  }

  get #root(): ShadowRoot | null {
    return this.#host.shadowRoot;
  }
}

/** Tells an element its width: at once when it is connected, later in the frame after it changed, so that its new layout is not its own news. */
export class RoomObserver {
  readonly #element: HTMLElement;
  readonly #tell: (widthPx: number) => void;
  readonly #observer: ResizeObserver;

  constructor(element: HTMLElement, tell: (widthPx: number) => void) {
    this.#element = element;
    this.#tell = tell;
    this.#observer = new ResizeObserver(() => requestAnimationFrame(() => this.#measure()));
  }

  observe(): void {
    this.#measure();
    this.#observer.observe(this.#element);
  }

  disconnect(): void {
    this.#observer.disconnect();
  }

  #measure(): void {
    this.#tell(this.#element.clientWidth);
  }
}

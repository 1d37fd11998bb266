/**
 * What the live regions are given: at most one message a second, none while a value is dragged. The newest waits; an urgent
 * one is not displaced by one that is not.
 */
export interface Announcement {
  readonly text: string;
  readonly urgent: boolean;
}

export const quietMs = 1000;

export class Announcer {
  #waiting: Announcement | null = null;
  #lastMs = -Infinity;

  offer(announcement: Announcement): void {
    if (!this.#waiting?.urgent || announcement.urgent) this.#waiting = announcement;
  }

  /** What may be said now, once; null when nothing may. */
  take(nowMs: number, dragging: boolean): Announcement | null {
    if (!this.#waiting || dragging || nowMs - this.#lastMs < quietMs) return null;
    const taken = this.#waiting;
    this.#waiting = null;
    this.#lastMs = nowMs;
    return taken;
  }

  get waiting(): boolean {
    return this.#waiting !== null;
  }
}

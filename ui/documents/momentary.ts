/**
 * A switch that acts when it is pressed and, held for 300 ms or longer, returns when it is let go: a glance at the other
 * side. The same for the key and for the box under finger or mouse.
 */
export const heldMs = 300;

export class MomentarySwitch {
  #pressedMs: number | null = null;
  #returnTo = false;

  /** @returns the side to switch to; null when it is already down */
  press(nowMs: number, present: boolean): boolean | null {
    if (this.#pressedMs !== null) return null;
    this.#pressedMs = nowMs;
    this.#returnTo = present;
    return !present;
  }

  /** @returns the side to return to; null when it was only tapped, or not down at all */
  release(nowMs: number): boolean | null {
    const pressedMs = this.#pressedMs;
    this.#pressedMs = null;
    return pressedMs !== null && nowMs - pressedMs >= heldMs ? this.#returnTo : null;
  }
}

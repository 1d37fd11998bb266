/** What the page's own elements have in common: the state as a property, one event outward. */
import { LitElement } from 'lit';
import type { Action, BenchState, PageShape, Readings, RegionProperties } from '../state.ts';

export abstract class BenchElement extends LitElement implements RegionProperties {
  static override properties = { state: { attribute: false }, shape: { reflect: true }, low: { type: Boolean, reflect: true } };
  declare state: BenchState;
  declare shape: PageShape;
  declare low: boolean;

  protected send(action: Action): void {
    this.dispatchEvent(new CustomEvent<Action>('bench-action', { detail: action, bubbles: true, composed: true }));
  }
}

/** An element that also draws fast figures, once a frame, past the state. */
export interface DrawsReadings {
  /** @param nowMs time of the frame; each element keeps its own pace */
  drawReadings(readings: Readings, nowMs: number): void;
}

/** Lets a thing happen at most every so often: figures five times a second, meters thirty. */
export class Pace {
  #lastMs = -Infinity;

  due(nowMs: number, everyMs: number): boolean {
    // Frames come a little early or late; without the slack a 30 Hz meter would fall to 20 on a 60 Hz screen.
    if (nowMs - this.#lastMs < everyMs - 4) return false;
    this.#lastMs = nowMs;
    return true;
  }
}

export const figureMs = 200;
export const meterMs = 1000 / 30;

/** The reader asked the system for less motion. */
export function lessMotion(): boolean {
  return matchMedia('(prefers-reduced-motion: reduce)').matches;
}

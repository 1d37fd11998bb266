/**
 * A drag over a value: 300 px for the whole range, right and up are more, Shift a tenth without a jump (each movement is scaled by
 * itself, so there is nothing to re-anchor). Holds passing state only; the owner sends what it returns.
 */
import { draggedValue, valueToTravel } from '../../../dsp/path/index.ts';
import type { SeriesName } from '../../../dsp/path/index.ts';
import type { NumberParameter } from '../../../dsp/stages/contract.ts';

/** Pixels of the whole range. */
export const travelPx = 300;
/** Movement before a press becomes a drag: less for a mouse than for a finger, which must still be able to tap. */
export const slackPx = { mouse: 3, touch: 8 } as const;

export interface DragMove {
  /** Whether this movement turned the press into a drag. */
  readonly begun: boolean;
  readonly value: number;
}

export class ValueDrag {
  readonly pointerId: number;
  readonly startValue: number;
  readonly touch: boolean;
  moved = false;
  /** Value last returned by `move`. */
  lastValue: number;
  #travel: number;
  #lastX: number;
  #lastY: number;
  readonly #parameter: NumberParameter;
  readonly #startX: number;
  readonly #startY: number;

  constructor(event: PointerEvent, parameter: NumberParameter, value: number) {
    this.pointerId = event.pointerId;
    this.touch = event.pointerType === 'touch';
    this.startValue = this.lastValue = value;
    this.#parameter = parameter;
    this.#travel = valueToTravel(value, parameter);
    this.#startX = this.#lastX = event.clientX;
    this.#startY = this.#lastY = event.clientY;
  }

  /** Value after a movement; null while the press is not yet a drag. A finger's upward movement belongs to the page. */
  move(event: PointerEvent, series: SeriesName): DragMove | null {
    const alongX = event.clientX - this.#startX;
    const alongY = this.touch ? 0 : this.#startY - event.clientY;
    const begun = !this.moved;
    if (begun && Math.max(Math.abs(alongX), Math.abs(alongY)) <= (this.touch ? slackPx.touch : slackPx.mouse)) return null;
    this.moved = true;
    const byPx = event.clientX - this.#lastX + (this.touch ? 0 : this.#lastY - event.clientY);
    this.#lastX = event.clientX;
    this.#lastY = event.clientY;
    this.#travel = Math.min(1, Math.max(0, this.#travel + byPx / travelPx * (event.shiftKey ? 0.1 : 1)));
    this.lastValue = draggedValue(this.#travel, this.#parameter, series, event.shiftKey);
    return { begun, value: this.lastValue };
  }
}

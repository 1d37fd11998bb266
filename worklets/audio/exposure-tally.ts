import { AFilter } from '../../dsp/listening/index.ts';
import type { FromProcessor } from '../messages.ts';

/**
 * The A-weighted square of what goes to the output, behind monitor and limiter, added up and told once a second of sound and when it falls silent.
 * While a comparison is blind it adds up and tells nothing: a level could tell the sides apart. Audio thread: allocates nothing but its message.
 */
export class ExposureTally {
  readonly #rateHz: number;
  readonly #post: (message: FromProcessor) => void;
  readonly #left: AFilter;
  readonly #right: AFilter;
  #leftSum = 0;
  #rightSum = 0;
  #frames = 0;

  constructor(rateHz: number, post: (message: FromProcessor) => void) {
    this.#rateHz = rateHz;
    this.#post = post;
    this.#left = new AFilter(rateHz);
    this.#right = new AFilter(rateHz);
  }

  take(left: Float32Array, right: Float32Array, offset: number, frames: number, blind: boolean): void {
    this.#leftSum = this.#left.addSquares(left, offset, frames, this.#leftSum);
    this.#rightSum = this.#right.addSquares(right, offset, frames, this.#rightSum);
    this.#frames += frames;
    if (this.#frames >= this.#rateHz) this.#tell(blind);
  }

  /** Nothing sounds any more: what is left over is told. */
  rest(blind: boolean): void {
    if (this.#frames > 0) this.#tell(blind);
  }

  #tell(blind: boolean): void {
    if (blind) return;
    const leftSquareSeconds = this.#leftSum / this.#rateHz;
    const rightSquareSeconds = this.#rightSum / this.#rateHz;
    const seconds = this.#frames / this.#rateHz;
    this.#leftSum = 0;
    this.#rightSum = 0;
    this.#frames = 0;
    if (leftSquareSeconds + rightSquareSeconds < Infinity) this.#post({ kind: 'heard', seconds, leftSquareSeconds, rightSquareSeconds });
    else this.#forget();
  }

  /** A sample that is no number would stay in the filters for ever. */
  #forget(): void {
    this.#left.reset();
    this.#right.reset();
  }
}

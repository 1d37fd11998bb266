/** What a path does to whole blocks: an interface with two back ends that give the same bits, `block-loops.ts` and `emit/`. */

/** Places in `MixNumbers`. */
export const mixAt = { inGain: 0, outGain: 1, inGainBefore: 2, outGainBefore: 3, polarity: 4 } as const;
export const mixSize = 5;

/** Gains of what is in and out, and what they move from; polarity of the dry signal, ±1. An array, since a number handed to a call may be allocated. */
export type MixNumbers = Float64Array;

/** Blocks begin at entry 0 of their arrays. Audio thread: nothing allocates, throws or waits. */
export interface BlockWork {
  copy(from: Float64Array, to: Float64Array, frames: number): void;
  /** `to = 0 − from`; may be the same array. */
  negate(from: Float64Array, to: Float64Array, frames: number): void;
  /** `to = from · ratio[0]`; may be the same array. */
  multiply(from: Float64Array, to: Float64Array, frames: number, ratio: Float64Array): void;
  /** `to = from / ratio[0]`; may be the same array. */
  divide(from: Float64Array, to: Float64Array, frames: number, ratio: Float64Array): void;
  /**
   * `into = w · into + (1 − w) · other`; sample i has the weight at `position + (i + 1) · step` steps (step −1, 0 or 1), held at the ends. A weight of exactly 1 or 0 passes
   * one side untouched.
   */
  crossfade(into: Float64Array, other: Float64Array, frames: number, weights: Float64Array, position: number, step: number): void;
  /**
   * Wet and dry in place of `wet`, with the weights of a switch as in `crossfade`, each side with its gain; the gains move from those before to their own along the same weights,
   * sample i being at step `gainPosition + i + 1`. Without `wholePath` the wet signal has switched already and only the gain follows.
   */
  mix(
    wet: Float64Array, dry: Float64Array, frames: number, weights: Float64Array, position: number, step: number, gainPosition: number, numbers: MixNumbers, wholePath: boolean,
  ): void;
}

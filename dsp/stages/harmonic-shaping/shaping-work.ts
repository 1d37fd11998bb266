/** What the shaping stage does to a block: an interface with two back ends that give the same bits, `shaping-loops.ts` and `emit/`. */
import type { PolynomialProgram } from '../contract.ts';
import { at } from './program.ts';
import { sectionCount } from './quadrature.ts';

/** Places in a channel's memory: band limit 2, blocking 1, then the all-pass sections of both chains by turns. */
export const blockingAt = 2;
export const sectionsAt = 3;
export const memorySize = sectionsAt + sectionCount;

/** Places in `ShapingState.counts`, one for each of two channels. */
export const peakAt = 0;
export const nonFiniteAt = 2;
export const countsSize = 4;

export interface ShapingState {
  /** As in `PolynomialProgram`. */
  readonly parameters: Float64Array;
  /** One a channel. */
  readonly memory: readonly Float64Array[];
  /** Of the last block: largest |output| in volts of either channel, then how many samples of it were not finite. */
  readonly counts: Float64Array;
}

export interface ShapingWork {
  /**
   * Volts in place. A sample that is not finite, coming in or going out, gives 0 V and starts the channel's memory afresh. The band limit and the all-pass pair run even where nothing
   * is asked for, so that a turned-up amount finds them settled. Audio thread: allocates nothing, never throws.
   */
  shape(state: ShapingState, channels: readonly Float64Array[], offset: number, frames: number): void;
}

export const isHeld = ({ parameters }: Pick<PolynomialProgram, 'parameters'>): boolean => parameters[at.held] === 1;
export const isSilent = ({ parameters }: Pick<PolynomialProgram, 'parameters'>): boolean => parameters[at.second] === 0 && parameters[at.third] === 0;

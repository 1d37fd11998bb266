/** What the equaliser does to a block: an interface with two back ends that give the same bits, `section-loops.ts` and `emit/`. */
import type { LinearProgram } from '../contract.ts';
import { memoriesOfSection } from './section.ts';

/** Below this a memory is silence: denormal numbers are slow. */
export const silence = 1e-30;
/** No circuit puts out more volts; what is beyond, or no number, is taken as 0 V and starts the memory afresh. */
export const soundVolts = 1e15;

/** Places in `LinearState.counts`: largest |output| of each of two channels. */
export const peakAt = 0;
export const countsSize = 2;

export interface LinearState {
  /** As in `LinearProgram`. */
  readonly coefficients: Float64Array;
  /** One a channel: two memories for each of the program's places. */
  readonly memory: readonly Float64Array[];
  readonly counts: Float64Array;
}

/** Audio thread: every method allocates nothing, never throws, never waits. */
export interface LinearWork {
  /** Whether every sample is a number of at most `soundVolts`. */
  isSound(channels: readonly Float64Array[], offset: number, frames: number): boolean;
  /** All sections in turn on sound samples, in place; the gain; peaks into `counts`. */
  filter(program: LinearProgram, state: LinearState, channels: readonly Float64Array[], offset: number, frames: number): void;
}

export const memorySize = ({ placeCount }: LinearProgram): number => memoriesOfSection * placeCount;

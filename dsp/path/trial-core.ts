import type { TrialPlan } from './plan.ts';
import type { PreparedChange } from './stage-chain.ts';
import type { StageChain } from './stage-chain.ts';
import type { TrialMix } from './trial-mix.ts';

/** A change of values that has its runners, for each path of what runs. */
export interface PreparedValues {
  readonly plan: TrialPlan;
  readonly changes: readonly PreparedChange[];
}

/** A path within what runs. */
export interface CorePath {
  readonly chain: StageChain;
}

/**
 * What plays one plan from input to output, both ways of what is on trial: one path beside its dry signal or beside itself without something (`PathCore`), or two paths
 * (`PairCore`). Constructors, `prepare` and `takeOver`'s preparations allocate; what is marked for the audio thread does not.
 */
export interface TrialCore {
  /** What is heard, or being faded to. */
  readonly plan: TrialPlan;
  /** Base frames by which the output lags, the same both ways. */
  readonly latencyFrames: number;
  /** Samples of the next block; non-finite ones must have been replaced. One array a channel, as `outputs`. */
  readonly inputs: readonly Float64Array[];
  /** Of the last block. */
  readonly outputs: readonly Float64Array[];
  readonly paths: readonly CorePath[];
  /** A value is on its way. */
  readonly fading: boolean;
  /** From `inputs` to `outputs`. `frame`: of the first, since reset. `beside`: what has done this block already and may share a path. Audio thread. */
  process(frames: number, trial: TrialMix, frame: number, beside: TrialCore | null): void;
  /** Whether this path is one of its own. Audio thread. */
  runs(path: CorePath): boolean;
  /** Fades `outputs` from those of what played before; `position` in base frames. Audio thread. */
  fadeFrom(previous: TrialCore, frames: number, position: number): void;
  /** Goes on in mid-signal where another one stood: filters filled with what was played, memory of stages with the same key carried over. Audio thread. */
  takeOver(previous: TrialCore, history: readonly Float64Array[]): void;
  /** In place of `takeOver` where all begins at frame 0. Audio thread. */
  takePlace(): void;
  /** The runners for a plan that differs in values alone; null where it differs in more, or has no room. Not for the callback. */
  prepare(plan: TrialPlan): PreparedValues | null;
  /** Begins the fades of a prepared change. Audio thread. */
  apply(prepared: PreparedValues): void;
  reset(): void;
}

/**
 * One instance of a program with all its channels, at its own step: the readable loop (`loop-instance.ts`) or a compiled kernel
 * (`emit/kernel-instance.ts`). Both give the same bits. Every method may be called from the audio callback: it allocates nothing, never throws, never
 * waits.
 */
import type { CircuitProgram } from './program.ts';
import type { SolverReport } from './solver-report.ts';

export interface InstanceRunner {
  readonly program: CircuitProgram;
  readonly channels: number;
  /** Counts of this instance. */
  readonly report: SolverReport;
  /** Every channel to the operating point; counters to 0. */
  reset(): void;
  /**
   * Input volts in (bias excluded), output volts out (absolute), in place, one array a channel, at the instance's own step. An input that is NaN,
   * infinite or beyond 1e100 V is taken as 0 V; a state or output that is not finite gives one sample at the rest output and the channel goes on from
   * the operating point. Both are counted.
   */
  process(channels: readonly Float64Array[], offset: number, frames: number): void;
  /**
   * The first half of the first step after reset or take-over: one step of `channel` with `meanInputVolts`, its output dropped, then the trapezoidal
   * states averaged with those before. The next `process` is the second half.
   */
  start(channel: number, meanInputVolts: number): void;
  /**
   * Sets z (the previous z, too), the first guess of the control voltages v and the memories of the cores of one channel; without them each core was demagnetised and then brought to its z.
   */
  place(channel: number, states: Float64Array, controlVolts: Float64Array, histories?: Float64Array | null): void;
  /** z of one channel into `states`, v into `controlVolts`. */
  read(channel: number, states: Float64Array, controlVolts: Float64Array): void;
  /** Memories of the cores of one channel, `coreHistoryLength` numbers each (core-law.ts). */
  readHistories(channel: number, histories: Float64Array): void;
  /** What state k stores now: volts of a capacitor, amperes of an inductor, volt-seconds of a core. */
  storedQuantity(channel: number, state: number): number;
  controlVolts(channel: number, control: number): number;
}

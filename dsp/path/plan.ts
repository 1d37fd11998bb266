/** What a path becomes before it runs: plain data, made off the audio thread, posted to it. No logic. */
import type { Grade } from '../circuit/index.ts';
import type { StageProgram } from '../stages/index.ts';
import type { OnTrial, OversamplingFactor, PathSetting } from './contract.ts';

/** A program and what it was made from. */
export interface PlannedProgram {
  /** Equal exactly when two programs are equal: stage, values, source network, rate and rule or grade as text. */
  readonly identity: string;
  readonly program: StageProgram;
}

/** A stage that runs: in circuit, or on trial. */
export interface PlannedStage {
  readonly key: string;
  readonly stage: string;
  /** Index in the setting's list. */
  readonly index: number;
  /** The user's reversal, on top of what the stage does. */
  readonly reversed: boolean;
  /** −1 when the output is the input upside down, stage and reversal together. */
  readonly polarity: 1 | -1;
  readonly onTrial: boolean;
  /** Wired to the running stage before it. */
  readonly wired: PlannedProgram;
  /** On the stage after the one on trial, where it is a circuit: the same stage wired to the one *before* the trial. */
  readonly wiredWithoutTrial: PlannedProgram | null;
}

export interface PathPlan {
  /** What the programs' integration rules were chosen for, and where their solvers stop. */
  readonly grade: Grade;
  readonly baseRateHz: number;
  readonly oversamplingFactor: OversamplingFactor;
  readonly ladder: PathSetting['ladder'];
  /** Volts of a sample of 1: the peak of a sine at full-scale level. */
  readonly samplePeakVolts: number;
  /** In order from source to load. */
  readonly stages: readonly PlannedStage[];
  readonly onTrial: OnTrial;
  /** Polarity of what is on trial: its dry signal is turned alike, so that a switch compares sound and not sign. */
  readonly trialPolarity: 1 | -1;
}

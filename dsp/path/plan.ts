/** What a path becomes before it runs: plain data, made off the audio thread, posted to it. No logic. */
import type { Grade } from '../circuit/index.ts';
import type { OutputNetwork, StageProgram } from '../stages/index.ts';
import type { OnTrial, OversamplingFactor, PathSetting } from './contract.ts';
import type { PlannedNoise } from './noise-shape.ts';

/** A program and what it was made from. */
export interface PlannedProgram {
  /** Equal exactly when two programs are equal: stages, values, source network, rate and rule or grade as text. */
  readonly identity: string;
  readonly program: StageProgram;
}

/** A stage of the setting inside what runs. */
export interface PlannedMember {
  readonly key: string;
  /** Identifier in the registry. */
  readonly stage: string;
  /** Index in the setting's list. */
  readonly index: number;
  /** The user's reversal, on top of what the stage does. */
  readonly reversed: boolean;
}

/**
 * One thing that runs: a stage, several solved in one circuit, or a part of the surroundings. In circuit, or on trial.
 */
export interface PlannedStage {
  /** Of its last stage; `surroundingsKeys` for parts of the surroundings. */
  readonly key: string;
  /** Of its last stage; "surroundings". */
  readonly stage: string;
  /** From source to load: one, or those that are joined; none for a part of the surroundings. */
  readonly members: readonly PlannedMember[];
  /** The user's reversal of what it puts out; reversals inside are in the circuit. */
  readonly reversed: boolean;
  /** −1 when the output is the input upside down, stages and reversals together. */
  readonly polarity: 1 | -1;
  /** The stage on trial is in it. */
  readonly onTrial: boolean;
  /** What it is wired to: the output network of what runs before it. */
  readonly source: OutputNetwork | null;
  /** Tie line and load of the surroundings are in its circuit, behind its make-up. */
  readonly loaded: boolean;
  readonly wired: PlannedProgram;
  /** What is added to what it puts out; absent: nothing. */
  readonly noise?: PlannedNoise;
}

/** How the path is heard without the one stage, or the one mechanism, on trial. */
export interface PlannedTrial {
  /** Of `PathPlan.stages`, from the first to the one before the last, those that run otherwise without it: itself, what it is joined to, and the circuit after it. */
  readonly first: number;
  readonly end: number;
  /** What runs in their place, beside them, so that its coupling capacitors are ready. */
  readonly without: readonly PlannedStage[];
  /** What goes into it is turned upside down, as the stage on trial would. */
  readonly turned: boolean;
}

/** Mains voltage that the input's balance lets in, added to what the source gives: a sum of sines that all begin at frame 0. */
export interface PlannedHum {
  readonly fundamentalHz: number;
  /** `quarters`: of a cycle, by which the sine is ahead. */
  readonly parts: readonly { readonly order: number; readonly peakVolts: number; readonly quarters: 0 | 1 }[];
}

/** A stage that was to be joined and is not. */
export interface RefusedJoint {
  readonly key: string;
  readonly sentence: string;
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
  /** Null where the whole path is on trial, or a mechanism that it does not have. */
  readonly trial: PlannedTrial | null;
  /** The surroundings driven without the path: heard when the whole path is out of circuit. Null: none, or something else is on trial. */
  readonly direct: PlannedStage | null;
  readonly hum: PlannedHum | null;
  /** Polarity of what is on trial: its dry signal is turned alike, so that a switch compares sound and not sign. */
  readonly trialPolarity: 1 | -1;
  readonly refusedJoints: readonly RefusedJoint[];
}

/** Two whole paths on trial, each in circuit, at one base rate. */
export interface PairPlan {
  readonly kind: 'pair';
  readonly baseRateHz: number;
  /** Heard where what is on trial is in. */
  readonly in: PathPlan;
  /** Heard where it is out. */
  readonly out: PathPlan;
  /** −1 where one of them inverts: the second is turned, so that a switch compares sound and not sign. */
  readonly trialPolarity: 1 | -1;
}

/** What a runner plays. */
export type TrialPlan = PathPlan | PairPlan;

/** What a path is, as data: the part of a setting that makes sound. */
import type { StageValues } from '../stages/contract.ts';

export const oversamplingFactors = [1, 2, 4, 8, 16] as const;
export type OversamplingFactor = (typeof oversamplingFactors)[number];

/** One stage in its place. */
export interface PathStage {
  /** Identity while editing ("s1"), so that memory and undo follow a stage that is moved; not written to files. */
  readonly key: string;
  /** Identifier in the registry. */
  readonly stage: string;
  readonly inCircuit: boolean;
  /** Output polarity reversed by the user, on top of what the stage itself does. */
  readonly reversed: boolean;
  /** Solved in one circuit with the running circuit stage before it, on request; a probe's verdict may ask for the same (`StoredJoint`). */
  readonly joined: boolean;
  /** Complete: every parameter of the stage's table. */
  readonly values: StageValues;
}

export interface PathSetting {
  readonly stages: readonly PathStage[];
  readonly oversamplingFactor: OversamplingFactor;
  readonly ladder: 'linear-phase' | 'minimum-latency';
  /** 0 dBFS (full-scale sine) in dBu. */
  readonly fullScaleDbu: 18 | 22 | 24;
  /** What the source is and what the path drives, after the table `surroundings`; null: an ideal source, no load but the stages' own. */
  readonly surroundings: StageValues | null;
  /** Noise and what the rails carry, after the table `supply`; null: silent and stiff. */
  readonly supply: StageValues | null;
}

/** The one thing whose in and out are compared. */
export type OnTrial =
  | { readonly kind: 'path' }
  | { readonly kind: 'stage'; readonly key: string }
  /** Out: the path as it is but for one mechanism of a stage (`pathMechanisms`), by its identifier. Where the stage does not have it at its values, or is out of circuit, both ways are alike. */
  | { readonly kind: 'without'; readonly key: string; readonly mechanism: string };

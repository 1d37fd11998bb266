/** A setting: what a file freezes. `parseSetting` and `writeSetting` are an exact pair. */
import type { IntegrationRule } from '../circuit/index.ts';
import type { PathSetting } from '../path/index.ts';

/** Raised whenever any bit of any result changes. */
export const numericsVersion = 3;

/** Static gains that make in and out equally loud; the louder one is turned down, so neither is above 0 dB. */
export interface StoredLevelMatch {
  /** `without`: one of the stage's mechanisms, by its identifier; absent: the stage itself. */
  readonly onTrial: 'path' | { readonly stageIndex: number; readonly without?: string };
  readonly inGainDb: number;
  readonly outGainDb: number;
  readonly residualDb: number;
  /** Loop identifier or file name it was measured on. */
  readonly programme: string;
}

/** How a circuit stage was integrated when it was frozen: the solver's own choice, stored so that a later one can be held against it. */
export interface StoredRule {
  readonly rule: IntegrationRule;
  /** Estimated error of its harmonics at 10 kHz, dB. */
  readonly errorDb: number;
}

/** Verdict of the loading probe on the joint before a stage. */
export interface StoredJoint {
  /** The two ways differ by more than they may, so that the two stages are solved in one circuit. */
  readonly joined: boolean;
  /** Largest difference of levels and harmonics between the two ways, dB. */
  readonly differenceDb: number;
}

export interface SettingNote {
  /** ISO date, "2026-11-25". */
  readonly date: string;
  readonly text: string;
}

export interface Setting {
  readonly title: string;
  readonly notes: readonly SettingNote[];
  readonly path: PathSetting;
  readonly levelMatch: StoredLevelMatch | null;
  /** Base rate the level match and any hash were made at. */
  readonly baseRateHz: number;
  /** One for each stage of the path as it plays, null for one that is out of circuit or no circuit; null where they were not known yet. */
  readonly rules: readonly (StoredRule | null)[] | null;
  /** One for each stage, of the joint before it; null where it was not probed: first stage, out of circuit, no circuit. Null: nothing was probed yet. */
  readonly joints: readonly (StoredJoint | null)[] | null;
}

/** A setting: what a file freezes. `parseSetting` and `writeSetting` are an exact pair. */
import type { PathSetting } from '../path/index.ts';

/** Raised whenever any bit of any result changes. */
export const numericsVersion = 1;

/** Static gains that make in and out equally loud; the louder one is turned down, so neither is above 0 dB. */
export interface StoredLevelMatch {
  readonly onTrial: 'path' | { readonly stageIndex: number };
  readonly inGainDb: number;
  readonly outGainDb: number;
  readonly residualDb: number;
  /** Loop identifier or file name it was measured on. */
  readonly programme: string;
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
  readonly integrationRule: 'T1';
}

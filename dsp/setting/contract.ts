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

/** Of whoever listened. */
export type Verdict = 'right' | 'not yet' | 'wrong';

export interface SettingNote {
  /** ISO date, "2026-11-25". */
  readonly date: string;
  readonly text: string;
  readonly verdict?: Verdict;
  readonly pin?: NotePin;
}

/** The moment that a note speaks of: all that is needed to hear it again. */
export interface NotePin {
  /** Null: nothing was there to be heard. */
  readonly programme: HeardProgramme | null;
  /** Null: the whole loop. */
  readonly region: Region | null;
  /** Null: none was at hand. */
  readonly measurement: Measurement | null;
  readonly made: FrozenSetting;
}

export interface Region {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

export interface HeardProgramme {
  readonly title: string;
  /** Of a loop that comes with the bench; or "file:" and the beginning of the checksum. */
  readonly identifier: string;
  /** Of the bytes of its file, 64 hexadecimal digits; null of a live input. */
  readonly sha256: string | null;
  readonly rateHz: number;
  /** Gain it was given before the path, at most 0 dB. */
  readonly trimDb: number;
}

/** Harmonics of the whole path for one steady tone at its input. */
export interface Measurement {
  readonly frequencyHz: number;
  readonly levelDbu: number;
  readonly fundamentalDbu: number;
  /** Relative to the fundamental; −400 dB where nothing stands above the numerical floor. */
  readonly orders: readonly { readonly order: number; readonly db: number }[];
}

/** A setting without notes beside the text of its file, which stays what it was when a later bench would write it otherwise. */
export interface FrozenSetting {
  readonly setting: Setting;
  readonly text: string;
  /** SHA-256 of the text, 64 hexadecimal digits. */
  readonly sha256: string;
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

/** What ears get, as the page knows it: only from a playback chain that was calibrated in this visit. Types only. */
import type { DayExposure, PlaybackCalibration, weeklyReference } from '../../dsp/listening/index.ts';

export type ListenerKind = keyof typeof weeklyReference;
export type PlaybackEquipment = 'loudspeakers' | 'headphones';

/** A reading of a sound-level meter, and what the bench played meanwhile. */
export interface HearingCalibration extends PlaybackCalibration {
  readonly equipment: PlaybackEquipment;
  readonly monitorDb: number;
  /** ISO date. */
  readonly day: string;
}

/** Sums of what went to the output, squares times seconds. */
export interface HeardSums {
  readonly seconds: number;
  readonly leftSquareSeconds: number;
  readonly rightSquareSeconds: number;
}

/** How much of a limit is used up, in halves: what is told once when it is passed. */
export type PassedHalves = 0 | 1 | 2;

export interface HearingState {
  readonly listener: ListenerKind;
  readonly equipment: PlaybackEquipment;
  /** Of this visit; null: no level is known, and nothing is added up. */
  readonly calibration: HearingCalibration | null;
  /** Of an earlier visit: shown, never used. */
  readonly lastTime: HearingCalibration | null;
  /** The reference noise since it began or the monitor level was moved; null: what comes next still holds the way there. */
  readonly reference: HeardSums | null;
  /** Why the last reading was not taken. */
  readonly refusal: string | null;
  /** In order. */
  readonly days: readonly DayExposure[];
  /** Mean level of the last second heard; null: nothing since the calibration, or what was compared without being told. */
  readonly heardDba: number | null;
  readonly passed: { readonly day: string; readonly ofDay: PassedHalves; readonly ofWeek: PassedHalves };
  /** A sentence that waits until nothing else takes the whole page. */
  readonly untold: string | null;
}

export type HearingAction =
  /** What an earlier visit kept. */
  | { readonly kind: 'hearing-restored'; readonly days: readonly DayExposure[]; readonly lastTime: HearingCalibration | null; readonly listener: ListenerKind }
  | { readonly kind: 'hearing-listener'; readonly listener: ListenerKind }
  | { readonly kind: 'hearing-equipment'; readonly equipment: PlaybackEquipment }
  /** Asks for the reference noise as a tone is asked for. */
  | { readonly kind: 'ask-noise' }
  /** What the sound-level meter reads while the noise plays, as it was typed. */
  | { readonly kind: 'calibrate-playback'; readonly text: string }
  /** The volume or the device was changed. */
  | { readonly kind: 'drop-calibration' }
  | ({ readonly kind: 'heard' } & HeardSums);

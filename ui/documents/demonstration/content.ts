/** What a demonstration is made of. */
import type { LevelMatchResult } from '../../../dsp/listening/index.ts';
import type { TrialHarmonics } from '../../../dsp/measure/index.ts';
import type { SampleEncoding } from '../../../dsp/recording/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import type { OnTrial } from '../../../dsp/path/index.ts';

export interface DemonstrationSound {
  readonly encoding: SampleEncoding;
  readonly rateHz: number;
  readonly channels: 1 | 2;
  readonly frames: number;
  /** Whole WAV files. */
  readonly in: Uint8Array;
  readonly out: Uint8Array;
  readonly match: Extract<LevelMatchResult, { readonly kind: 'matched' }>;
  readonly trimDb: number;
  readonly drift: number;
}

export interface DemonstrationContent {
  readonly title: string;
  /** The explanation: paragraphs parted by empty lines. */
  readonly words: string;
  /** ISO date; null: left out, so that the same demonstration is the same file. */
  readonly date: string | null;
  readonly setting: Setting;
  readonly onTrial: OnTrial;
  readonly programme: {
    readonly title: string;
    /** Null: the whole of it. */
    readonly region: { readonly startSeconds: number; readonly endSeconds: number } | null;
  };
  readonly harmonics: TrialHarmonics;
  readonly sound: DemonstrationSound;
  /** Trials of the blind part; null: there is none. */
  readonly blindTrials: number | null;
}

/** Lengths the blind part is offered in. */
export const blindLengths: readonly number[] = [10, 12, 16, 20];

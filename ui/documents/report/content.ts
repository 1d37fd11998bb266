/** What a report is made of, whoever makes it. Types only. */
import type { TrialHarmonics } from '../../../dsp/measure/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import type { StageReport } from '../../../dsp/stages/index.ts';
import type { TitledContent } from './sections.ts';

/** A sitting of blind listening, as far as a report tells it. */
export interface ReportedBlind {
  /** ISO date. */
  readonly date: string;
  /** "whole path, in circuit against out of circuit, on piano" */
  readonly compared: string;
  readonly settingSha256: string;
  readonly words: readonly string[];
}

export interface ReportContent {
  /** ISO date; null: left out. */
  readonly date: string | null;
  readonly setting: Setting;
  readonly baseRateHz: number;
  /** Null: none is on the bench. */
  readonly programme: { readonly title: string; readonly words: string; /** Of the bytes of its file; null: there is none. */ readonly sha256: string | null } | null;
  /** One for each stage; null: not computed. */
  readonly stages: readonly (StageReport | null)[];
  /** Levels and headroom, noise, supply: as far as they are known. */
  readonly sections: readonly TitledContent[];
  /** Of the whole path; null: not measured. */
  readonly harmonics: TrialHarmonics | null;
  /** Why there are none. */
  readonly harmonicsRefused: string | null;
  /** Pictures of our own, as SVG. */
  readonly figures: readonly { readonly label: string; readonly svg: string }[];
  readonly blind: readonly ReportedBlind[];
  /** What was done lately, the newest last. */
  readonly log: readonly { readonly at: string; readonly words: string }[];
  /** Sentences on what ears have had; none without a calibrated chain. */
  readonly exposure: readonly string[];
}

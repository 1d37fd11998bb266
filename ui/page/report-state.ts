/** What a report needs beyond what is on the bench anyway. Types only. */
import type { TrialHarmonics } from '../../dsp/measure/index.ts';
import type { ReportedBlind } from '../documents/report/content.ts';

export interface ReportState {
  /** Of the whole path as it stands; null: not measured since the report was opened. */
  readonly harmonics: TrialHarmonics | null;
  /** Why there are none. */
  readonly harmonicsRefused: string | null;
  /** Blind comparisons that ended since the page was opened. */
  readonly blind: readonly ReportedBlind[];
}

export type ReportAction =
  // answers of the engine
  | { readonly kind: 'report-harmonics'; readonly harmonics: TrialHarmonics }
  | { readonly kind: 'report-refused'; readonly sentence: string };

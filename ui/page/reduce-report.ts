/** What a report collects while one works. Pure. */
import { settingSha256 } from '../../dsp/setting/index.ts';
import { withLive } from './changes.ts';
import type { ReportState } from './report-state.ts';
import type { Action, BenchState } from './state.ts';
import { inName, outName, trialName } from './tell.ts';

export const openingReport: ReportState = { harmonics: null, harmonicsRefused: null, blind: [] };

export function reduceReport(state: BenchState, action: Action, today: string): BenchState {
  const { report } = state.live;
  const set = (change: Partial<ReportState>): BenchState => withLive(state, { report: { ...report, ...change } });
  switch (action.kind) {
    case 'whole-page': return action.page === 'report' ? set({ harmonics: null, harmonicsRefused: null }) : state;
    case 'report-harmonics': return set({ harmonics: action.harmonics });
    case 'report-refused': return set({ harmonicsRefused: action.sentence });
    case 'blind-record': {
      const { setting, live: { programme } } = state;
      const compared = `${trialName(state)}, ${inName(state)} against ${outName(state)}, on ${programme?.title ?? 'what was on the bench'}`;
      return set({ blind: [...report.blind, { date: today, compared, settingSha256: settingSha256(setting), words: action.record.result.words }] });
    }
    default: return state;
  }
}

/** The bench as a report has it. Pure. */
import { writeQuantity } from '../../dsp/path/index.ts';
import type { StageReport } from '../../dsp/stages/index.ts';
import { figureSvg } from '../plot/index.ts';
import type { ReportContent } from '../documents/report/content.ts';
import { headroomFrom, rowsOf, type TitledContent } from '../documents/report/sections.ts';
import { hearingReport } from './hearing-words.ts';
import { keptName } from './kept-figures.ts';
import { recentEntries } from './session-log.ts';
import type { BenchState } from './state.ts';

/** So many lines of the session's log stand in a report. */
const mostLogged = 40;

/** @param today ISO date */
export function reportOf(state: BenchState, today: string): ReportContent {
  const { setting, session, live } = state;
  const { report, programme } = live;
  return {
    date: today,
    setting,
    baseRateHz: live.baseRateHz,
    programme: programme && {
      title: programme.title, sha256: programme.sha256,
      words: `${(programme.frames / programme.rateHz).toFixed(1)} s, ${programme.channels === 1 ? 'mono' : 'stereo'}, ${writeQuantity(programme.rateHz, 'frequency', 'Hz')}${programme.trimDb < 0 ? `, trimmed by ${programme.trimDb.toFixed(1).replace('-', '−')} dB` : ''}`,
    },
    stages: setting.path.stages.map(({ key }) => stageReport(state, key)),
    sections: sectionsOf(state),
    harmonics: report.harmonics,
    harmonicsRefused: report.harmonicsRefused,
    figures: session.kept.map((kept, index) => ({
      label: `${keptName(kept, state)}; ${kept.scope}, kept ${kept.keptAt.replace('T', ' ')}`, svg: figureSvg(kept.figure, { idPrefix: `figure-${index + 1}-` }),
    })),
    blind: report.blind,
    log: recentEntries(live.sessionLog).slice(-mostLogged),
    exposure: hearingReport(live.hearing, today),
  };
}

/** With what its noise and rails are, where the supply is on. */
function stageReport({ live: { reports, supplied } }: BenchState, key: string): StageReport | null {
  const report = reports[key];
  if (report === undefined) return null;
  const more = supplied?.stages[key];
  return more === undefined ? report : { ...report, readings: [...report.readings, ...more.readings], remarks: [...report.remarks, ...more.remarks] };
}

function sectionsOf({ live: { headroom, supplied } }: BenchState): TitledContent[] {
  return [
    ...(headroom === null ? [] : [headroomFrom(headroom)]),
    ...(supplied === null ? [] : [{
      title: 'Noise and supply of the whole path',
      content: { json: null, rows: rowsOf('path', supplied.path.readings), words: supplied.path.remarks.map(({ label, words }) => `${label}: ${words}`) },
    }]),
  ];
}

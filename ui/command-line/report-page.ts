/** What the command line knows of a setting, for a page. */
import { trialHarmonicsInSteps } from '../../dsp/measure/index.ts';
import { stageById, type StageReport } from '../../dsp/stages/index.ts';
import type { ReportContent } from '../documents/report/content.ts';
import type { ReportContext, ReportSection, SectionContent } from '../documents/report/sections.ts';
import { finished } from './finished.ts';

/** Tone that the harmonics are measured with. */
const probe = { frequencyHz: 200, levelDbu: 4 } as const;

export function reportContent(context: ReportContext, sections: readonly { readonly section: ReportSection; readonly content: SectionContent }[], date: string | null): ReportContent {
  const { setting, plan, baseRateHz } = context;
  const { path, joints } = setting;
  const harmonics = finished(trialHarmonicsInSteps({ path, joints, baseRateHz, onTrial: { kind: 'path' }, ...probe }));
  const stages = path.stages.map(({ key, stage, values }): StageReport => {
    const definition = stageById(stage);
    const planned = plan.stages.find(({ members }) => members.length === 1 && members[0]!.key === key);
    return definition.report(values, planned?.wired.program ?? definition.program(values, { rateHz: baseRateHz * path.oversamplingFactor, source: null }));
  });
  return {
    date, setting, baseRateHz, programme: null, stages, harmonics, harmonicsRefused: null, figures: [], blind: [], log: [], exposure: [],
    // The stages stand in sheets of their own.
    sections: sections.filter(({ section: { id } }) => id !== 'stages').map(({ section: { title }, content }) => ({ title, content })),
  };
}

/** Subjects for the figures of tones. */
import type { Figure, FigureSubject, FigureTable } from '../../../../dsp/measure/figures/index.ts';
import { figureInSteps, figureViewById } from '../../../../dsp/measure/figures/index.ts';
import { planPath, type PathSetting } from '../../../../dsp/path/index.ts';
import { rateHz } from '../../../path/support.ts';

export function subjectOf(path: PathSetting, scope: FigureSubject['scope'] = { kind: 'path' }): FigureSubject {
  const plan = planPath({ ...path, supply: null }, rateHz, { grade: 'measuring' });
  return { path, baseRateHz: rateHz, oversamplingFactor: path.oversamplingFactor, samplePeakVolts: plan.samplePeakVolts, scope, programme: null, plan };
}

/** The finished figure of a view at its defaults, but for these values. */
export function figureOf(id: string, subject: FigureSubject, values: Readonly<Record<string, number | string>> = {}): Figure {
  const view = figureViewById(id)!;
  const defaults = Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default]));
  const steps = figureInSteps(view, subject, { ...defaults, ...values });
  for (let step = steps.next(); ; step = steps.next()) if (step.done) return step.value;
}

/** The row of a table whose first cell is this. */
export function rowOf({ rows }: FigureTable, first: string): FigureTable['rows'][number]['cells'] {
  const found = rows.find(({ cells }) => cells[0] === first);
  if (!found) throw new Error(`no row ${first} among ${rows.map(({ cells }) => cells[0]).join(', ')}`);
  return found.cells;
}

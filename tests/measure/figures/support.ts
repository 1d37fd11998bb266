/** Figures of circuits and paths for tests. */
import { figureInSteps, figureViewById, subjectOfDocument, subjectOfSetting, type Figure, type FigureSubject } from '../../../dsp/measure/figures/index.ts';
import type { CircuitDocument } from '../../../dsp/circuit/index.ts';
import { defaultValues, type StageValues } from '../../../dsp/stages/index.ts';
import { pathOf } from '../../path/support.ts';

export const internalRateHz = 384_000;

export function figureOf(id: string, subject: FigureSubject, values: StageValues = {}): Figure {
  const view = figureViewById(id)!;
  const steps = figureInSteps(view, subject, { ...defaultValues({ parameters: view.parameters }), ...values });
  let step = steps.next();
  while (!step.done) step = steps.next();
  return step.value;
}

export const ofDocument = (document: CircuitDocument, rateHz = internalRateHz): FigureSubject => subjectOfDocument(document, rateHz);

/** The whole of a path of these stages, or one of them by its key. */
export function ofStages(stages: Parameters<typeof pathOf>[0], stageKey?: string, options: Parameters<typeof pathOf>[1] = {}): FigureSubject {
  return subjectOfSetting({ path: pathOf(stages, options), joints: null, baseRateHz: 48_000, scope: stageKey === undefined ? { kind: 'path' } : { kind: 'stage', key: stageKey }, programme: null });
}

/** Cell of the row whose first cell is `row`, by its column's label. */
export function cellOf({ tables }: Figure, table: number, row: string, label: string): number {
  const { columns, rows } = tables[table]!;
  const at = columns.findIndex((column) => column.label === label);
  const found = rows.find(({ cells }) => cells[0] === row);
  if (found === undefined || at < 0) throw new Error(`expected a row "${row}" with "${label}", got rows ${rows.map(({ cells }) => cells[0]).join(', ')} and columns ${columns.map((column) => column.label).join(', ')}`);
  return found.cells[at] as number;
}

/** All values of a column. */
export function columnOf({ tables }: Figure, table: number, label: string): number[] {
  const at = tables[table]!.columns.findIndex((column) => column.label === label);
  if (at < 0) throw new Error(`expected a column "${label}", got ${tables[table]!.columns.map((column) => column.label).join(', ')}`);
  return tables[table]!.rows.map(({ cells }) => cells[at] as number);
}

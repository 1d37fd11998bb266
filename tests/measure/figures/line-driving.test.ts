import { describe, expect, it } from 'vitest';
import { figureInSteps, figureViewById, type Figure, type FigureSubject } from '../../../dsp/measure/figures/index.ts';
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';
import { planPath } from '../../../dsp/path/index.ts';
import { pathOf } from '../../path/support.ts';

const view = figureViewById('line-driving')!;
const values = { levelDbu: 24 };

function subject(stages: Parameters<typeof pathOf>[0]): FigureSubject {
  const path = pathOf(stages);
  const plan = planPath(path, 48_000, { grade: 'measuring' });
  return { plan, path, baseRateHz: 48_000, oversamplingFactor: plan.oversamplingFactor, samplePeakVolts: plan.samplePeakVolts, scope: { kind: 'path' }, programme: null };
}

function figureOf(given: FigureSubject): Figure {
  const steps = figureInSteps(view, given, values);
  let step = steps.next();
  while (!step.done) step = steps.next();
  return step.value;
}

describe('ways to drive the line', () => {
  const figure = figureOf(subject([{ stage: 'line', values: { lineMetres: 300, lineOhmsPerMetre: 1e-6 } }]));
  const [table] = figure.tables;
  const cell = (way: string, label: string): number => table!.rows.find(({ cells }) => cells[0] === way)!.cells[table!.columns.findIndex((column) => column.label === label)] as number;

  it('asks 64, 55, 80 and 83 mA of the driver at 20 kHz and +24 dBu into 300 m, each by its own way', () => {
    const amperes = ['direct', 'direct, same resistance', 'transformer', 'transformer, damped'].map((way) => cell(way, 'peak current at 20 kHz'));
    for (const [k, expected] of [0.064, 0.055, 0.08, 0.083].entries()) expect(Math.abs(amperes[k]! - expected)).toBeLessThan(0.0005);
    expect(figure.caption).toContain('direct 64 mA, direct, same resistance 55 mA, transformer 80 mA, transformer, damped 83 mA');
  });

  it('peaks by 1.58 dB at 21.4 kHz through the transformer, on the curve and in the table', () => {
    expect(Math.abs(cell('transformer', 'peak') - 1.58)).toBeLessThan(0.02);
    const trace = figure.panels[0]!.traces.find(({ id }) => id === 'transformer')!;
    // Drawn at 24 places a decade, so the summit may lie between two.
    expect(Math.abs(Math.max(...Array.from(trace.y)) - 1.58)).toBeLessThan(0.06);
    expect(trace.role).toBe('main');
  });

  it('reaches a current limit at the level where the current is that limit', () => {
    const level = cell('direct', 'level at 50 mA');
    expect(Math.abs(level - (24 + 20 * Math.log10(0.05 / cell('direct', 'peak current at 20 kHz'))))).toBeLessThan(1e-9);
  });

  it('is refused where there is no line', () => {
    expect(() => figureOf(subject(['harmonic-shaping']))).toThrow('Ways to drive the line: expected a line in the path, got none');
    expect(defaultValues(stageById('line'))['driving']).toBe('stage-before');
  });
});

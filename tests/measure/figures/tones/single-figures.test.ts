import { describe, expect, it } from 'vitest';
import { figureInSteps, figureViewById } from '../../../../dsp/measure/figures/index.ts';
import { measurePath, pathNoise, probePeakVolts } from '../../../../dsp/measure/index.ts';
import { supply } from '../../../../dsp/path/index.ts';
import { pathOf, threeStages } from '../../../path/support.ts';
import { figureOf, rowOf, subjectOf } from './support.ts';

const three = subjectOf(pathOf(threeStages));
const supplyValues = (noise: string) => ({ ...Object.fromEntries(supply.parameters.map((parameter) => [parameter.id, parameter.default])), noise });

/** Decibels of a row of the only table. */
const dbOf = (figure: ReturnType<typeof figureOf>, label: string): number => rowOf(figure.tables[0]!, label)[2] as number;

describe('single figures', () => {
  const figure = figureOf('single-figures', three);

  it('are those of the harmonics of the same path', () => {
    const measured = measurePath(three.plan, { frequencyHz: 1000, peakVolts: probePeakVolts(4), scope: { kind: 'path' } });
    if (measured.oscillates) throw new Error('oscillates');
    const ratio = (label: string): number => (rowOf(figure.tables[0]!, label)[1] as number) / 100;
    expect(Math.abs(ratio('THD, F') / measured.thd.f - 1) <= 1e-9).toBe(true);
    expect(Math.abs(ratio('THD, R') / measured.thd.r - 1) <= 1e-9).toBe(true);
    expect(Math.abs(ratio('weighted by n/2') / measured.weighted.halfOrder - 1) <= 1e-9).toBe(true);
    expect(Math.abs(ratio('weighted by n²/4') / measured.weighted.orderSquared - 1) <= 1e-9).toBe(true);
    expect(Math.abs((rowOf(figure.tables[0]!, 'DC shift')[4] as number) - measured.dcVolts) <= 1e-12).toBe(true);
    expect(figure.caption).toContain(`THD ${Number((100 * measured.thd.f).toPrecision(3))} %`);
  });

  it('count the orders asked for and say which', () => {
    const few = figureOf('single-figures', three, { highestOrder: 3 });
    expect(dbOf(few, 'THD, F')).toBeLessThan(dbOf(figure, 'THD, F'));
    expect(rowOf(few.tables[0]!, 'THD, F')[5]).toBe('orders 2 to 3, over the fundamental');
  });

  it('give every row a source, and the crest of a tone that is hardly bent', () => {
    for (const { cells } of figure.tables[0]!.rows) expect(String(cells[6]).length > 10 && cells[5] !== null, String(cells[0])).toBe(true);
    expect(Math.abs(dbOf(figureOf('single-figures', subjectOf(pathOf(['push-pull'])), { levelDbu: -10 }), 'crest factor') - 20 * Math.log10(Math.SQRT2)) <= 0.01).toBe(true);
  });

  it('have the path\'s noise in THD+N where it is on: at −60 dBu it is all there is', () => {
    const noisy = { ...three, path: { ...three.path!, supply: supplyValues('noise-alone') } };
    const { outputDbu } = pathNoise(noisy.path, three.plan);
    const loud = figureOf('single-figures', noisy, { levelDbu: -60 });
    const quiet = figureOf('single-figures', three, { levelDbu: -60 });
    const table = loud.tables[0]!;
    const fundamentalDbu = 20 * Math.log10((rowOf(table, 'fundamental at the output')[4] as number) / Math.sqrt(1.2));
    const harmonics = 10 ** (dbOf(quiet, 'THD+N, tone alone taken out') / 10);
    const expected = 10 * Math.log10(10 ** ((outputDbu - fundamentalDbu) / 10) + harmonics);
    // Noise grids of 24 and 200 points a decade.
    expect(Math.abs(dbOf(loud, 'THD+N, tone alone taken out') - expected) <= 0.02, `${dbOf(loud, 'THD+N, tone alone taken out')} dB, expected ${expected}`).toBe(true);
    expect(Math.abs((rowOf(table, 'noise at the output')[4] as number) - Math.sqrt(0.6) * 10 ** (outputDbu / 20)) <= 1e-9).toBe(true);
    expect(quiet.tables[0]!.rows.some(({ cells }) => cells[0] === 'noise at the output')).toBe(false);
    expect(loud.caption).not.toContain('noise being off');
    expect(quiet.caption).toContain('noise being off');
  });

  it('count the ripple of the supply where that is on', () => {
    const rippling = figureOf('single-figures', { ...three, path: { ...three.path!, supply: supplyValues('ripple-alone') } }, { levelDbu: -60 });
    expect(dbOf(rippling, 'THD+N')).toBeGreaterThan(dbOf(figureOf('single-figures', three, { levelDbu: -60 }), 'THD+N'));
    expect(rowOf(rippling.tables[0]!, 'supply ripple at the output')[5]).toContain('dBu');
  });

  it('refuse in a sentence', () => {
    const view = figureViewById('single-figures')!;
    const values = { frequencyHz: 1000, levelDbu: 4, highestOrder: 10 };
    expect(() => figureInSteps(view, subjectOf(pathOf([{ stage: 'push-pull', inCircuit: false }])), values).next()).toThrow('No stage is in circuit');
    expect(view.refuse({ ...three, baseRateHz: 48_000, oversamplingFactor: 1 }, { ...values, frequencyHz: 15_000 })).toContain('at most 12000 Hz');
  });
});

import { describe, expect, it } from 'vitest';
import { figureViewById } from '../../../../dsp/measure/figures/index.ts';
import { pathOf } from '../../../path/support.ts';
import { figureOf, subjectOf } from './support.ts';

// Two stages, one with memory, at 96 kHz: a quarter of the samples.
const path = pathOf([{ stage: 'harmonic-shaping', values: { driveDb: 3 } }, 'single-ended-bipolar'], { oversamplingFactor: 2 });

describe('harmonics by a sweep through the running path', () => {
  const subject = subjectOf(path);
  const figure = figureOf('sweep-harmonics', subject);

  it('are those of the steady state, found by another way: within 0.1 dB where they stand above −85 dB', () => {
    let compared = 0;
    for (const { cells: [hz, harmonic, steady, swept, apart] } of figure.tables[0]!.rows) {
      // Above a quarter of the rate, 24 kHz, the steady state is read off all steps of the rule and the sweep off its samples.
      if (steady === null || (steady as number) < -85 || Number(String(harmonic).slice(1)) * (hz as number) > 24_000) continue;
      compared += 1;
      expect(Math.abs(apart as number) <= 0.1 && Math.abs((swept as number) - (steady as number) - (apart as number)) <= 1e-9, `${String(harmonic)} at ${String(hz)} Hz: ${String(apart)} dB`).toBe(true);
    }
    expect(compared >= 10).toBe(true);
    expect(figure.caption).toMatch(/^Sweep and steady state are within 0\.\d\d dB of each other/);
  });

  it('draws a line and points for each order, orders marked', () => {
    const { traces } = figure.panels[0]!;
    expect(traces.map(({ order, drawn }) => [order, drawn])).toEqual([...[2, 3, 4, 5].map((order) => [order, 'line']), ...[2, 3, 4, 5].map((order) => [order, 'points'])]);
    for (const { x, y } of traces) expect(y).toHaveLength(x.length);
  });

  it('of a stage alone are driven at its own level', () => {
    const alone = figureOf('sweep-harmonics', subjectOf(path, { kind: 'stage', key: 's2' }));
    const second = alone.tables[0]!.rows.find(({ cells }) => cells[1] === 'H2')!.cells;
    const whole = figure.tables[0]!.rows.find(({ cells }) => cells[1] === 'H2')!.cells;
    expect(Math.abs(second[4] as number) <= 0.1).toBe(true);
    expect(Math.abs((second[2] as number) - (whole[2] as number)) > 1).toBe(true);
  });

  it('refuses rates it cannot run at', () => {
    const view = figureViewById('sweep-harmonics')!;
    expect(view.refuse({ ...subject, baseRateHz: 96_000, oversamplingFactor: 8 }, { levelDbu: 4 })).toContain('at most 384 kHz');
    expect(view.refuse({ ...subject, oversamplingFactor: 1 }, { levelDbu: 4 })).toContain('above 48 kHz');
    expect(view.draw(subject, { levelDbu: 4 }, [undefined, undefined]).caption).toBe('Nothing measured yet.');
  });
});

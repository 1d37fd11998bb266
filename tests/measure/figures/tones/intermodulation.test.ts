import { describe, expect, it } from 'vitest';
import { figureInSteps, figureViewById } from '../../../../dsp/measure/figures/index.ts';
import { intermodulationSignals } from '../../../../dsp/measure/tones/index.ts';
import { pathOf } from '../../../path/support.ts';
import { figureOf, rowOf, subjectOf } from './support.ts';

const shaping = subjectOf(pathOf(['harmonic-shaping']));

describe('the figure of intermodulation', () => {
  it.each(intermodulationSignals.map(({ id }) => id))('%s: what the table says stands in plot and caption', (signal) => {
    const figure = figureOf('intermodulation', shaping, { signal });
    const [figures, products] = figure.tables;
    for (const { cells } of figures!.rows) {
      const [label, percent, db, counted, source] = cells;
      expect(Math.abs(20 * Math.log10((percent as number) / 100) - (db as number)) <= 1e-9, String(label)).toBe(true);
      expect(String(counted).length > 10 && String(source).length > 10).toBe(true);
    }
    const first = figures!.rows[0]!.cells;
    expect(figure.caption).toContain(`${String(first[0])} ${Number((first[1] as number).toPrecision(3))} %`);
    const { traces, left } = figure.panels[0]!;
    const lines = new Map(traces.flatMap(({ x, y }) => Array.from(x, (hz, k) => [hz.toFixed(1), y[k]!] as const)));
    for (const { cells: [words, hz, , db] } of products!.rows) {
      if (db === null) continue;
      expect(Math.abs(lines.get((hz as number).toFixed(1))! - (db as number)) <= 1e-9, String(words)).toBe(true);
      expect((db as number) >= left.from).toBe(true);
    }
    for (const { x, y } of traces) expect(y).toHaveLength(x.length);
  });

  it('gives both conventions of a pair of sidebands: the arithmetic sum is √2 the rms sum where they are alike', () => {
    const { tables: [figures] } = figureOf('intermodulation', shaping, { signal: 'smpte-60-7000' });
    const [added, byPower] = ['second order, arithmetic sum', 'second order, rms sum'].map((label) => rowOf(figures!, label)[2] as number);
    // The shaping stage's filters tilt the pair by less than 0.01 dB.
    expect(Math.abs(added! - byPower! - 20 * Math.log10(Math.SQRT2)) <= 0.01).toBe(true);
  });

  it('lists what falls below the music apart, and marks the strongest of it', () => {
    const { tables, panels, caption } = figureOf('intermodulation', shaping, { signal: 'twin-19-20' });
    const below = tables[2]!;
    expect(below.columns[0]!.label).toBe('product below the lowest tone');
    expect(below.rows.map(({ cells }) => cells[0])).toContain('f2 − f1');
    expect(below.rows.every(({ cells }) => (cells[1] as number) < 19_000)).toBe(true);
    expect(caption).toContain('an octave or more below the tones: f2 − f1 at 1 kHz');
    expect(panels[0]!.marks.map(({ words }) => words)).toEqual(['below 19 kHz', 'f2 − f1, 1 kHz']);
    expect(figureOf('intermodulation', shaping, { signal: 'smpte-60-7000' }).tables).toHaveLength(2);
  });

  it('of one stage drives it with the tones that reach it', () => {
    const path = pathOf([{ stage: 'harmonic-shaping', values: { thirdSign: 'off' } }, 'push-pull']);
    const level = (scope: Parameters<typeof subjectOf>[1]): number => (figureOf('intermodulation', subjectOf(path, scope), { signal: 'smpte-250-8000' }).tables[0]!.rows[0]!.cells[2] as number | null) ?? -Infinity;
    expect(level({ kind: 'path' })).toBeGreaterThan(-60);
    expect(level({ kind: 'stage', key: 's2' })).toBeLessThan(-80);
  });

  it('plans a path anew for finer steps, joined as it was', () => {
    const path = pathOf(['harmonic-shaping', { stage: 'push-pull', joined: true }]);
    const ratio = (steps: string): number => figureOf('intermodulation', subjectOf(path), { signal: 'dim-30', steps }).tables[0]!.rows[0]!.cells[1] as number;
    // A memoryless law and filters in the audible: the edges change nothing but what lies beyond 192 kHz.
    expect(Math.abs(ratio('finer') / ratio('internal') - 1) <= 0.02).toBe(true);
    expect(ratio('finer') === ratio('internal')).toBe(false);
  });

  it('refuses in a sentence', () => {
    const view = figureViewById('intermodulation')!;
    const values = { signal: 'twin-19-20', levelDbu: 4 };
    const empty = subjectOf(pathOf([{ stage: 'push-pull', inCircuit: false }]));
    expect(view.refuse(empty, values)).toContain('No stage is in circuit');
    expect(() => figureInSteps(view, empty, values).next()).toThrow('No stage is in circuit');
    expect(view.refuse({ ...shaping, baseRateHz: 32_000, oversamplingFactor: 1 }, values)).toContain('Expected an internal rate above 40 kHz for a tone at 20 kHz, got 32 kHz');
    expect(view.refuse({ ...shaping, scope: { kind: 'stage', key: 's9' } }, values)).toContain('No stage is open');
    expect(view.refuse(shaping, values)).toBeNull();
  });

  it('draws an empty plot before anything has come', () => {
    const view = figureViewById('intermodulation')!;
    expect(view.draw(shaping, { signal: 'dim-30', levelDbu: 4 }, [undefined])).toMatchObject({ caption: 'Nothing measured yet.', tables: [] });
  });
});

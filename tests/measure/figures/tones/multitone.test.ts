import { beforeAll, describe, expect, it } from 'vitest';
import { figureInSteps, figureViewById, type Figure, type FigureSubject } from '../../../../dsp/measure/figures/index.ts';
import { pathNoise } from '../../../../dsp/measure/index.ts';
import { supply } from '../../../../dsp/path/index.ts';
import { pathOf } from '../../../path/support.ts';
import { figureOf, rowOf, subjectOf } from './support.ts';

const supplyValues = { ...Object.fromEntries(supply.parameters.map((parameter) => [parameter.id, parameter.default])), noise: 'noise-alone' };
const traceOf = (figure: Figure, id: string) => figure.panels[0]!.traces.find((trace) => trace.id === id)!;

describe('the figure of the multitone', () => {
  let subject: FigureSubject;
  let noisy: FigureSubject;
  let loud: Figure;
  let quiet: Figure;
  beforeAll(() => {
    subject = subjectOf(pathOf(['single-ended-field-effect'], { oversamplingFactor: 2 }));
    noisy = { ...subject, path: { ...subject.path!, supply: supplyValues } };
    loud = figureOf('multitone', subject, { levelDbu: 10 });
    quiet = figureOf('multitone', noisy, { levelDbu: -30 });
  });

  it('says the same in caption, table and plot', () => {
    const [percent, db] = rowOf(loud.tables[0]!, 'between the tones').slice(1) as [number, number];
    expect(loud.caption).toContain(`Between the tones ${Number(percent.toPrecision(3))} %`);
    const [even, odd] = ['of even order', 'of odd order'].map((label) => rowOf(loud.tables[0]!, label)[2] as number);
    expect(Math.abs(10 * Math.log10(10 ** (even! / 10) + 10 ** (odd! / 10)) - db) <= 1e-9).toBe(true);
    // A field-effect stage is bent to one side first.
    expect(even! > odd!).toBe(true);
    const thirds = traceOf(loud, 'thirds');
    const table = loud.tables[1]!.rows.map(({ cells }) => cells[1]);
    Array.from(thirds.y).forEach((level, k) => expect(table[k] === null ? Number.isNaN(level) : level === table[k]).toBe(true));
    // Thirty-one equal tones: each 14.9 dB below them all, but for the coupling's corner.
    for (const level of Array.from(traceOf(loud, 'tones').y).slice(3)) expect(Math.abs(level + 10 * Math.log10(31)) <= 0.2).toBe(true);
    for (const trace of loud.panels[0]!.traces) expect(trace.y).toHaveLength(trace.x.length);
  });

  it('falls 1 dB with each dB of level, as the second order does', () => {
    const lower = figureOf('multitone', subject, { levelDbu: 4 });
    const fall = (rowOf(loud.tables[0]!, 'of even order')[2] as number) - (rowOf(lower.tables[0]!, 'of even order')[2] as number);
    expect(Math.abs(fall - 6) <= 0.5, `${fall} dB`).toBe(true);
  });

  it('shows the noise of the path by third octaves where it is on: together as much as the path is said to make', () => {
    const { outputDbu } = pathNoise(noisy.path!, noisy.plan);
    const words = String(rowOf(quiet.tables[0]!, 'all tones at the output')[3]);
    const expected = outputDbu - 20 * Math.log10(Number.parseFloat(words) / Math.sqrt(0.6));
    const [, , db] = rowOf(quiet.tables[0]!, 'noise and ripple of the path') as [string, number, number];
    expect(Math.abs(db - expected) <= 0.02, `${db}, expected ${expected}`).toBe(true);
    const thirds = 10 * Math.log10(Array.from(traceOf(quiet, 'noise').y).reduce((sum, level) => sum + 10 ** (level / 10), 0));
    // From 17.8 Hz to 22.4 kHz.
    expect(thirds - db > 0 && thirds - db < 0.6).toBe(true);
    expect(loud.panels[0]!.traces.map(({ id }) => id)).not.toContain('noise');
    expect(loud.remarks.join(' ')).toContain('noise is off');
  });

  it('lets go often, refuses in a sentence', () => {
    const view = figureViewById('multitone')!;
    const values = { levelDbu: 4 };
    let steps = 0;
    const run = figureInSteps(view, subject, values);
    for (let step = run.next(); !step.done; step = run.next()) steps += 1;
    expect(steps > 3).toBe(true);
    expect(view.refuse({ ...subject, baseRateHz: 20_000 }, values)).toContain('Expected an internal rate above 40 kHz');
    expect(view.refuse(subjectOf(pathOf([{ stage: 'push-pull', inCircuit: false }])), values)).toContain('No stage is in circuit');
  });
});

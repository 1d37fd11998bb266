/** The figure of a spectrum: of the loop through the path where nothing plays live, and what it says. */
import { describe, expect, it } from 'vitest';
import { factsOf, figureInSteps, figureViewById, subjectOfSetting, type Figure } from '../../../dsp/measure/figures/index.ts';
import { SpectrumMeter } from '../../../dsp/measure/spectrum-meter.ts';
import { spectrumPoints } from '../../../dsp/measure/spectrum-points.ts';
import { defaultValues, type StageValues } from '../../../dsp/stages/index.ts';
import { pathOf, rateHz, sine } from '../../path/support.ts';

const view = figureViewById('spectrum')!;
const standard = defaultValues({ parameters: view.parameters });
// 24 whole periods: the loop goes round without a seam.
const loop = sine(500, 0.1, 2304);
const shaping = pathOf([{ stage: 'harmonic-shaping', values: { secondDb: -40, thirdSign: 'off', bandLimitHz: 40e3 } }], { oversamplingFactor: 2 });
const subject = (channels = [loop]) => subjectOfSetting({ path: shaping, joints: null, baseRateHz: rateHz, scope: { kind: 'path' }, programme: { title: 'tone', rateHz, channels } });

function figureOf(values: StageValues = {}): Figure {
  const steps = figureInSteps(view, subject(), { ...standard, ...values });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

describe('a tone through a stage that adds a second harmonic', () => {
  const figure = figureOf();
  const tones = figure.tables[0]!.rows.map(({ cells }) => cells as number[]);
  it('has both at their levels, in dBFS and dBu', () => {
    expect(tones).toHaveLength(2);
    const [[firstHz, firstDbfs, firstDbu], [secondHz, , , ratioDb]] = tones as [number[], number[]];
    expect(firstHz).toBeCloseTo(500, 2);
    expect(secondHz).toBeCloseTo(1000, 1);
    // 0.01 dB: what two lines tell of a tone between them.
    expect(Math.abs(firstDbfs! + 20)).toBeLessThan(0.01);
    expect(firstDbu! - firstDbfs!).toBeCloseTo(24, 9);
    expect(Math.abs(ratioDb! + 40)).toBeLessThan(0.02);
    expect(figure.caption).toBe('The loop, rendered, at the output: strongest at 500 Hz, −20.0 dBFS or +4.0 dBu; one transform of 341 ms, lines 2.93 Hz apart.');
    expect(figure.panels[0]!.marks[0]!.words).toBe('500 Hz');
    expect(Math.abs(figure.panels[0]!.marks[0]!.y! + 20)).toBeLessThan(0.01);
  });

  it('has the first alone at the input', () => {
    expect(figureOf({ tapped: 'input' }).tables[0]!.rows).toHaveLength(1);
  });

  it('reads in dBu, as a density, in third octaves, with peaks held', () => {
    const inDbu = figureOf({ unit: 'dbu', held: 'on' }).panels[0]!;
    expect([inDbu.left.unit, inDbu.left.to, inDbu.traces.map(({ id }) => id)]).toEqual(['dBu', 10, ['held', 'spectrum']]);
    expect(Math.max(...Array.from(inDbu.traces[1]!.y).filter((db) => db === db))).toBeCloseTo(4, 0);
    const density = figureOf({ reading: 'density' }).panels[0]!;
    expect([density.left.unit, density.marks]).toEqual(['dBFS in 1 Hz', []]);
    const thirds = figureOf({ bands: 'third-octave' });
    const [x, y] = [Array.from(thirds.panels[0]!.traces[0]!.x), Array.from(thirds.panels[0]!.traces[0]!.y)];
    const band = x.findIndex((hz) => hz > 500) - 1;
    expect(Math.abs(y[band]! + 20)).toBeLessThan(0.02);
    expect(thirds.tables[1]!.rows.find(({ cells }) => cells[0] === '500 Hz')!.cells[1]).toBe(y[band]);
    // Bands narrower than what the window lets through are left out.
    expect(thirds.tables[1]!.rows[0]!.cells[0]).toBe('31.5 Hz');
  });
});

describe('what it says', () => {
  const facts = factsOf(subject());
  const draw = (points: unknown): Figure => view.draw(facts, standard, [points]);
  it('where nothing plays, while it listens, and when it has stopped', () => {
    expect(draw(undefined).caption).toBe('Nothing plays: press Play, and its spectrum stands here.');
    const meter = new SpectrumMeter({ rateHz, size: 16_384, window: 'hann', averaging: 'none', averages: 8, channels: 1 });
    expect(draw(spectrumPoints(meter, 'playing')).caption).toBe('Listening: one transform takes 341 ms of sound.');
    expect(draw(spectrumPoints(meter, 'stopped')).caption).toBe('Nothing plays: press Play, and its spectrum stands here.');
    meter.push([new Float64Array(16_384)], 16_384);
    expect(draw(spectrumPoints(meter, 'playing')).caption).toContain('What plays, at the output: no tone stands out');
    expect(draw(spectrumPoints(meter, 'stopped')).caption).toContain('Nothing plays; what played last');
    expect(Array.from(draw(spectrumPoints(meter, 'playing')).panels[0]!.traces[0]!.y).every(Number.isNaN)).toBe(true);
  });

  it('is live, and refuses to measure without a loop', () => {
    expect(view.live).toBe(true);
    expect(view.refuse({ ...facts, programme: null }, standard)).toBeNull();
    expect(() => view.measure({ ...subject(), scope: { kind: 'stage', key: 's1' } }, standard, null).next()).toThrow('expected the whole path');
    expect(() => view.measure({ ...subject(), programme: null }, standard, null).next()).toThrow('expected a loop, got none');
  });
});

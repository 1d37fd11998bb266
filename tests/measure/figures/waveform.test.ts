import { describe, expect, it } from 'vitest';
import { subjectOfDocument } from '../../../dsp/measure/figures/index.ts';
import { cycleOf, roundDown, roundUp } from '../../../dsp/measure/figures/cycle.ts';
import { waveformAndResidual } from '../../../dsp/measure/figures/waveform.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { documentFile } from '../../support/circuits.ts';
import { columnOf, dbuPeak, figureOf, harmonicsOfLaw, internalRateHz, lineOf, tanhSubject, toDb } from './laws.ts';

installCompiledCode();

const law = (v: number): number => Math.tanh(v / 0.7);

describe('waveform and residual', () => {
  it('of tanh: the residual is the law without its fundamental, and its rms is the distortion of all orders', () => {
    const figure = figureOf(waveformAndResidual, tanhSubject(0.7), { levelDbu: 4 });
    const peak = dbuPeak(4);
    const first = harmonicsOfLaw(law, peak, 1)[1]!;
    const [output, residual, transfer] = figure.panels;
    for (const { x, y } of lineOf(output!, 'output')) {
      const drive = peak * Math.sin(2 * Math.PI * 1000 * x);
      // 1e-6 V of 1 V: the solver's tolerance.
      expect(Math.abs(y - law(drive)) <= 1e-6, `output at ${x} s: expected ${law(drive)}, got ${y}`).toBe(true);
    }
    for (const { x, y } of lineOf(residual!, 'residual')) {
      const expected = law(peak * Math.sin(2 * Math.PI * 1000 * x)) - first * Math.sin(2 * Math.PI * 1000 * x);
      expect(Math.abs(y - expected) <= 2e-6, `residual at ${x} s: expected ${expected}, got ${y}`).toBe(true);
    }
    for (const { x, y } of lineOf(transfer!, 'transfer')) expect(Math.abs(y - law(x)) <= 1e-6, `transfer at ${x} V`).toBe(true);
    const higher = harmonicsOfLaw(law, peak, 99).slice(2);
    const distortion = toDb(Math.sqrt(higher.reduce((sum, each) => sum + each * each, 0)) / first);
    const shownDb = Number(columnOf(figure.tables[0]!, 're fundamental')[2]);
    // 0.001 dB: aliases of orders beyond 190 of this law are 1e-9.
    expect(Math.abs(shownDb - distortion) <= 1e-3, `expected ${distortion}, got ${shownDb}`).toBe(true);
    expect(figure.caption).toContain(`(${distortion.toFixed(1).replace('-', '−')} dB) of the fundamental`);
  });

  it('is triggered at the rising zero of the fundamental, on one time axis, the residual gained by a round number', () => {
    const figure = figureOf(waveformAndResidual, subjectOfDocument(documentFile('common-emitter'), internalRateHz), { levelDbu: -20, frequencyHz: 3000 });
    const [output, residual] = figure.panels;
    expect(residual!.x).toEqual(output!.x);
    const hz = 2 / output!.x.to;
    expect(Math.abs(hz - 3000) <= 3, `${hz} Hz`).toBe(true);
    const line = lineOf(output!, 'output');
    const fundamental = Number(columnOf(figure.tables[0]!, 'volts')[0]);
    const mean = Number(columnOf(figure.tables[0]!, 'volts')[1]);
    const left = lineOf(residual!, 'residual');
    // Output − mean − residual is a sine that begins at 0.
    line.forEach(({ x, y }, k) => {
      const expected = fundamental * Math.sin(2 * Math.PI * hz * x);
      expect(Math.abs(y - mean - left[k]!.y - expected) <= 1e-9 * fundamental, `${x} s`).toBe(true);
    });
    expect(line[0]!.x).toBeGreaterThanOrEqual(0);
    const gain = output!.left.to / residual!.left.to;
    expect(residual!.title).toBe(`Residual × ${Math.round(gain)}`);
    const largest = Math.max(...left.map(({ y }) => Math.abs(y)));
    expect(largest <= residual!.left.to && largest >= residual!.left.to / 2.6).toBe(true);
  });

  it('of a crossover peaks near the zero crossing, of clipping at the tips, and says at what input', () => {
    const pair = subjectOfDocument(documentFile('push-pull-pair'), internalRateHz);
    const quiet = figureOf(waveformAndResidual, pair, { levelDbu: 12 });
    expect(quiet.caption).toContain('near the zero crossing');
    const loud = figureOf(waveformAndResidual, pair, { levelDbu: 25 });
    const clipped = columnOf(loud.tables[1]!, 'where');
    expect(clipped).toContain('at a tip of the wave');
    const inputs = columnOf(loud.tables[1]!, 'input').map(Number);
    const marks = loud.panels[1]!.marks;
    expect(marks.map(({ words }) => words[0])).toEqual(['a', 'b', 'c', 'd'].slice(0, marks.length));
    expect(loud.panels[2]!.marks.map(({ x }) => x)).toEqual(inputs);
  });

  it('of a wire says that nothing is above the floor', () => {
    const figure = figureOf(waveformAndResidual, tanhSubject(1e6), { levelDbu: 4 });
    expect(figure.caption).toContain('lies under −160.0 dB of the fundamental');
    expect(figure.panels[1]!.marks).toEqual([]);
  });

  it('holds 20 kHz by the phases of many cycles, and 20 Hz thinned out', () => {
    for (const frequencyHz of [20, 20_000]) {
      const figure = figureOf(waveformAndResidual, tanhSubject(0.7), { frequencyHz });
      const line = lineOf(figure.panels[0]!, 'output');
      expect(line.length >= 380 && line.length <= 2400, `${line.length} places`).toBe(true);
      const hz = 2 / figure.panels[0]!.x.to;
      for (const { x, y } of line) expect(Math.abs(y - law(dbuPeak(4) * Math.sin(2 * Math.PI * hz * x))) <= 1e-6, `${hz} Hz at ${x} s: ${y}`).toBe(true);
    }
  });
});

describe('a cycle', () => {
  it('is put in the order of its phases', () => {
    const wave = Float64Array.from({ length: 16 }, (_, i) => Math.cos((2 * Math.PI * 3 * i) / 16));
    const { output, residual } = cycleOf({ cycles: 3, periodFrames: 16, hz: 3 }, wave, wave.map((volts) => 2 * volts + 0.5));
    output.forEach((volts, p) => expect(volts).toBeCloseTo(2 * Math.cos((2 * Math.PI * p) / 16) + 0.5, 12));
    for (const volts of residual) expect(Math.abs(volts) < 1e-12).toBe(true);
  });

  it('has axes that end on round numbers', () => {
    expect([0.9, 1, 1.01, 2.1, 6, 0.0034].map(roundUp)).toEqual([1, 1, 2, 5, 10, 0.005]);
    expect([0.9, 1, 1.9, 7, 123].map(roundDown)).toEqual([0.5, 1, 1, 5, 100]);
  });
});

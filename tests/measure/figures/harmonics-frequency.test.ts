import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { factsOf, subjectOfDocument, subjectOfSetting, sweepTone } from '../../../dsp/measure/figures/index.ts';
import { harmonicsAgainstFrequency } from '../../../dsp/measure/figures/harmonics-frequency.ts';
import { inShares, outlineFirst } from '../../../dsp/measure/figures/sweep-order.ts';
import { pathOf } from '../../path/support.ts';
import { capacitor, input, parsedOf, resistor } from '../../support/circuits.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { columnOf, dbuPeak, figureOf, harmonicsOfLaw, internalRateHz, lineOf, pointsOf, tanhSubject, toDb, valuesOf } from './laws.ts';

installCompiledCode();

const divisor = (a: number, b: number): number => (b === 0 ? a : divisor(b, a % b));

describe('harmonics against frequency', () => {
  it('of a law without memory are the same at every frequency, gaps from half the internal rate on', () => {
    const figure = figureOf(harmonicsAgainstFrequency, tanhSubject(2), { fromHz: 50, toHz: 40_000, pointsPerOctave: 1, highestOrder: 7 });
    const peaks = harmonicsOfLaw((v) => Math.tanh(v / 2), dbuPeak(4), 7);
    for (const order of [3, 5]) {
      const line = lineOf(figure.panels[0]!, `H${order}`);
      for (const { x, y } of line) {
        const expected = toDb(peaks[order]! / peaks[1]!);
        // 0.001 dB: the solver's tolerance.
        expect(Math.abs(y - expected) <= 1e-3, `H${order} at ${x} Hz: expected ${expected}, got ${y}`).toBe(true);
      }
      expect(line.at(-1)!.x * order).toBeLessThan(internalRateHz / 2);
      expect(line.length).toBe(figure.panels[0]!.traces[0]!.x.length - (order === 5 ? 1 : 0));
    }
    expect(columnOf(figure.tables[0]!, 'H5').at(-1)).toBeNull();
  });

  it('of a capacitor behind the law fall as its own response does: the third by what 3 f loses more than f', () => {
    const farads = 1e-8;
    const ohms = 1000;
    const subject = subjectOfDocument(parsedOf([
      input('in'), { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'ground'], maxAmperes: 1e-3, scaleVolts: 2 }, resistor('R1', 'o', 'ground', ohms), capacitor('C1', 'o', 'ground', farads),
    ], ['o', 'ground']), internalRateHz);
    const figure = figureOf(harmonicsAgainstFrequency, subject, { fromHz: 100, toHz: 10_000, pointsPerOctave: 2, highestOrder: 3 });
    const peaks = harmonicsOfLaw((v) => Math.tanh(v / 2), dbuPeak(4), 3);
    const loss = (hz: number): number => Math.sqrt(1 + (2 * Math.PI * hz * ohms * farads) ** 2);
    for (const { x, y } of lineOf(figure.panels[0]!, 'H3')) {
      const expected = toDb((peaks[3]! / peaks[1]!) * (loss(x) / loss(3 * x)));
      // 0.05 dB at 30 kHz: what the measuring grade allows at 10 kHz (0.01 dB), and as much again for an order further up.
      expect(Math.abs(y - expected) <= 0.05, `H3 at ${x} Hz: expected ${expected}, got ${y}`).toBe(true);
    }
  });

  it('rise at the bottom where an input transformer has its core', () => {
    const subject = subjectOfSetting({ path: pathOf(['transformer-input']), joints: null, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });
    const figure = figureOf(harmonicsAgainstFrequency, subject, { fromHz: 30, toHz: 2000, pointsPerOctave: 1, highestOrder: 3 });
    const third = lineOf(figure.panels[0]!, 'H3');
    // A core's flux for the same volts is twice as large an octave lower.
    expect(third[0]!.y > third.at(-1)!.y + 20).toBe(true);
    expect(figure.caption).toMatch(/it is highest at 30 Hz/);
  });

  it('are the same to the bit by one worker or many', () => {
    const subject = tanhSubject(1);
    const values = valuesOf(harmonicsAgainstFrequency, { fromHz: 200, pointsPerOctave: 2 });
    const rows = (workers: number): unknown[] => (pointsOf(harmonicsAgainstFrequency, subject, values, workers) as { index: number }[][]).flat().sort((a, b) => a.index - b.index);
    expect(rows(7)).toEqual(rows(1));
    expect(harmonicsAgainstFrequency.split(factsOf(subject), values, 7).length).toBeGreaterThan(harmonicsAgainstFrequency.split(factsOf(subject), values, 1).length);
  });

  it('are refused beyond half the internal rate and for ends the wrong way round', () => {
    expect(() => figureOf(harmonicsAgainstFrequency, tanhSubject(1), { fromHz: 1000, toHz: 100 })).toThrow('expected a highest above the lowest, got 1 kHz to 100 Hz');
    const slow = { ...tanhSubject(1), baseRateHz: 32_000 };
    expect(() => figureOf(harmonicsAgainstFrequency, slow)).toThrow('expected them under half the internal rate (16 kHz), got 20 kHz');
  });
});

describe('a tone for a sweep', () => {
  it('is within 0.1 %, its period short and without common divisor', () => {
    fc.assert(fc.property(fc.double({ min: 10, max: 20_000, noNaN: true }), fc.constantFrom(352_800, 384_000, 768_000), (hz, rateHz) => {
      const { cycles, periodFrames, hz: used } = sweepTone(rateHz, hz);
      expect(divisor(cycles, periodFrames)).toBe(1);
      expect(Math.abs(used - hz) <= 1e-3 * hz, `${hz} → ${used}`).toBe(true);
      expect(used).toBeCloseTo((cycles * rateHz) / periodFrames, 9);
      expect(periodFrames >= 96 && periodFrames <= Math.max(3000, rateHz / hz + 1), `${periodFrames} samples for ${hz} Hz`).toBe(true);
    }), { seed: 20261126, numRuns: 300 });
  });

  it('of a round number is that number', () => {
    for (const hz of [20, 50, 1000, 10_000, 20_000]) expect(sweepTone(384_000, hz).hz).toBe(hz);
    expect(() => sweepTone(48_000, 24_000)).toThrow('expected more than 0 and less than 24000 Hz');
  });
});

describe('the order of a sweep', () => {
  it('has every point once, the outline first, in shares of about equal cost', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 300 }), fc.integer({ min: 1, max: 16 }), (count, workers) => {
      const order = outlineFirst(count);
      expect([...order].sort((a, b) => a - b)).toEqual(Array.from({ length: count }, (_, k) => k));
      expect(order.slice(0, 2)).toEqual(count > 16 ? [0, 16] : count === 1 ? [0] : [0, count - 1]);
      const cost = (index: number): number => 1 + index;
      const shares = inShares(order, workers, cost);
      expect(shares.flat()).toEqual(order);
      const total = order.reduce((sum, index) => sum + cost(index), 0);
      const costs = shares.map((share) => share.reduce((sum, index) => sum + cost(index), 0));
      // One point too many at the most.
      for (const each of costs) expect(each <= total / Math.min(count, Math.max(8, 4 * workers)) + 1 + count).toBe(true);
    }), { seed: 20261126 });
  });
});

import { describe, expect, it } from 'vitest';
import { subjectOfDocument, subjectOfSetting } from '../../../dsp/measure/figures/index.ts';
import { featuresOf } from '../../../dsp/measure/figures/gain-features.ts';
import { incrementalGain } from '../../../dsp/measure/figures/incremental-gain.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { pathOf } from '../../path/support.ts';
import { capacitor, documentFile, input, parsedOf, resistor } from '../../support/circuits.ts';
import { unstableOpAmpLoop } from '../../support/unstable.ts';
import { dbuPeak, exponentialSubject, figureOf, internalRateHz, lineOf, tanhSubject, thermalVolts300 } from './laws.ts';

installCompiledCode();

describe('incremental gain', () => {
  it('of tanh is sech²', () => {
    const scale = 1;
    const figure = figureOf(incrementalGain, tanhSubject(scale), { upToDbu: 10 });
    const line = lineOf(figure.panels[0]!, 'gain');
    expect(line[0]!.x < -0.98 * dbuPeak(10) && line.at(-1)!.x > 0.98 * dbuPeak(10)).toBe(true);
    for (const { x, y } of line) {
      const expected = 1 / Math.cosh(x / scale) ** 2 / scale;
      // 0.001: secants of 1.6 % of the pulse's height against a law that bends within a volt, height 3.5 V.
      expect(Math.abs(y - expected) <= 1e-3, `${x} V: expected ${expected}, got ${y}`).toBe(true);
    }
    const [below, above] = figure.panels[0]!.marks.filter(({ words }) => words.startsWith('half'));
    const half = Math.acosh(Math.SQRT2);
    // 5 mV: straight between places 70 mV apart.
    expect(Math.abs(below!.x! + half) <= 5e-3 && Math.abs(above!.x! - half) <= 5e-3, `${below!.x!}, ${above!.x!}`).toBe(true);
  });

  it('of a transistor is e^(v/VT), turned over by its collector', () => {
    const figure = figureOf(incrementalGain, exponentialSubject(), { upToDbu: -25 });
    const line = lineOf(figure.panels[0]!, 'gain');
    const rest = line.find(({ x }) => x === 0)!.y;
    expect(rest).toBeLessThan(0);
    for (const { x, y } of line) {
      const expected = rest * Math.exp(x / thermalVolts300);
      // 0.2 % of it: secants of 1 mV against a law that bends within 26 mV.
      expect(Math.abs(y / expected - 1) <= 2e-3, `${x} V: expected ${expected}, got ${y}`).toBe(true);
    }
  });

  it('holds the bias of coupling capacitors: behind one, a law off its middle keeps its own place', () => {
    const subject = subjectOfDocument(parsedOf([
      input('in'), capacitor('C1', 'in', 'a', 1e-5), resistor('RB', 'a', 'bias', 1e4), { kind: 'voltage-source', name: 'VB', between: ['bias', 'ground'], volts: 0.4 },
      { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['a', 'ground'], maxAmperes: 1e-3, scaleVolts: 1 }, resistor('R1', 'o', 'ground', 1000),
    ], ['o', 'ground']), internalRateHz);
    for (const { x, y } of lineOf(figureOf(incrementalGain, subject, { upToDbu: 4 }).panels[0]!, 'gain')) {
      const expected = 1 / Math.cosh(x + 0.4) ** 2;
      // 0.01: a pulse of 1 ms moves a time constant of 100 ms by half a per cent of its height.
      expect(Math.abs(y - expected) <= 0.01, `${x} V: expected ${expected}, got ${y}`).toBe(true);
    }
  });

  it('shows the notch of a crossover at rest and the rails beyond, of a pair alike on both sides', () => {
    const figure = figureOf(incrementalGain, subjectOfDocument(documentFile('push-pull-pair'), internalRateHz), { upToDbu: 28 });
    const marks = figure.panels[0]!.marks;
    const notch = marks.find(({ words }) => words.startsWith('notch'));
    expect(Math.abs(notch!.x!)).toBeLessThan(0.05);
    const [below, above] = marks.filter(({ words }) => words.startsWith('half'));
    expect(Math.abs(below!.x! + above!.x!)).toBeLessThan(0.1);
    // Rails of 15 V, less a base–emitter voltage of about 0.7 V that the bias of 0.64 V gives back, with 22 Ω before it.
    expect(above!.x! > 14 && above!.x! < 17, `${above!.x!}`).toBe(true);
    expect(figure.caption).toMatch(/a notch of [\d.]+ dB round .* as of a crossover; it falls to half at −1\d/);
    const near = figure.panels[1]!.x.to;
    expect(near < figure.panels[0]!.x.to / 4).toBe(true);
  });

  it('of a path is the product along it, of a stage alone its own, reversed where the path is', () => {
    const path = pathOf(['push-pull', { stage: 'push-pull', reversed: true, values: { makeUpDb: 6 } }]);
    const subject = subjectOfSetting({ path, joints: null, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });
    const atRest = (scope: typeof subject.scope): number => lineOf(figureOf(incrementalGain, { ...subject, scope }, { upToDbu: -20 }).panels[0]!, 'gain').find(({ x }) => x === 0)!.y;
    const [first, second, whole] = [atRest({ kind: 'stage', key: 's1' }), atRest({ kind: 'stage', key: 's2' }), atRest({ kind: 'path' })];
    expect(Math.abs(whole / (first * second) - 1) <= 1e-4, `${whole} of ${first} and ${second}`).toBe(true);
    expect(second).toBeLessThan(0);
  });

  it('is refused of a circuit that oscillates', () => {
    expect(() => figureOf(incrementalGain, subjectOfDocument(unstableOpAmpLoop(1e-8), internalRateHz))).toThrow('The circuit oscillates or is bistable: it has no gain to be shown.');
  });
});

describe('what is read off a gain', () => {
  const places = (gain: (volts: number) => number) => Array.from({ length: 401 }, (_, k) => ({ inputVolts: (k - 200) / 20, gain: gain((k - 200) / 20) }));

  it('finds a notch of known depth and width, and where half is left', () => {
    const { notch, halfBelow, halfAbove, atRest } = featuresOf(places((v) => -2 * (1 - 0.5 * Math.exp(-((v / 0.2) ** 2))) / (1 + Math.exp(8 * (Math.abs(v) - 6)))));
    expect(atRest).toBeCloseTo(-1, 6);
    expect(Math.abs(notch!.depthDb - 6.02) <= 0.01, `${notch!.depthDb}`).toBe(true);
    expect(notch!.atVolts).toBe(0);
    // Half the depth of a Gaussian: ±0.2 √ln 2 = ±0.167 V, to the next place 0.05 V further.
    expect(Math.abs(notch!.toVolts - 0.167) <= 0.051 && Math.abs(notch!.fromVolts + 0.167) <= 0.051).toBe(true);
    expect(Math.abs(halfBelow! + 6) <= 0.02 && Math.abs(halfAbove! - 6) <= 0.02, `${halfBelow!}, ${halfAbove!}`).toBe(true);
  });

  it('finds neither where there is neither, and a dead zone as deep as can be told', () => {
    expect(featuresOf(places(() => 3))).toMatchObject({ atRest: 3, notch: null, halfBelow: null, halfAbove: null });
    expect(featuresOf(places((v) => (Math.abs(v) < 0.3 ? 0 : 1))).notch!.depthDb).toBeCloseTo(120, 6);
    // A dip far from rest is no crossover.
    expect(featuresOf(places((v) => (Math.abs(v - 5) < 0.3 ? 0.5 : 1))).notch).toBeNull();
  });
});

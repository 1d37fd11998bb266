import { describe, expect, it } from 'vitest';
import { assembleCircuit } from '../../dsp/circuit/assemble.ts';
import { railResponses, railsOf } from '../../dsp/circuit/noise-rails.ts';
import type { RailResponse } from '../../dsp/circuit/noise-rails.ts';
import { findOperatingPoint } from '../../dsp/circuit/operating-point.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { bipolar, commonEmitter, pushPull } from './support.ts';

function railsAt(parts: readonly Part[], output: readonly [string, string], hz: readonly number[]): RailResponse[] {
  const document = parsedOf(parts, output);
  const system = assembleCircuit(document);
  return railResponses(document, system, findOperatingPoint(system), hz);
}

function expectNear(actual: number, expected: number, limit: number): void {
  expect(!(Math.abs(actual - expected) <= limit) ? `got ${actual}, expected ${expected} ± ${limit}` : 'near').toBe('near');
}

describe('supply rails', () => {
  it('are the sources to ground that feed the circuit: not limits, biases or wires', () => {
    const document = parsedOf([
      input('in'), resistor('RS', 'in', 'b', 1000), source('VB', 'bias', 'b', 0.1), resistor('RB', 'bias', 'ground', 1e9), source('VREF', 'ref', 'ground', 5), resistor('RF', 'ref', 'b', 1e9),
      source('VCC', 'vp', 'ground', 12), resistor('R1', 'vp', 'out', 1000), source('VEE', 'ground', 'vm', 12), resistor('R2', 'vm', 'out', 2000), resistor('RL', 'out', 'b', 1e6),
    ], ['out', 'ground']);
    const system = assembleCircuit(document);
    const rails = railsOf(document, system, findOperatingPoint(system));
    expect(rails.map(({ component, volts }) => [component, volts])).toEqual([['VCC', 12], ['VEE', -12]]);
    for (const { amperes } of rails) expectNear(amperes, 24 / 3000, 1e-5);
  });

  it('a divider passes its share of the ripple, of either sign of source', () => {
    const rails = railsAt([
      input('in'), resistor('RI', 'in', 'out', 1e12), source('VCC', 'vp', 'ground', 12), resistor('R1', 'vp', 'out', 1000), source('VEE', 'ground', 'vm', 12), resistor('R2', 'vm', 'out', 3000),
    ], ['out', 'ground'], [100, 1e4]);
    for (const { re, im } of rails[0]!.toOutput) {
      expectNear(re, 0.75, 1e-8);
      expectNear(im, 0, 1e-12);
    }
    // One volt up on the negative rail, whichever way round its source is written.
    for (const { re } of rails[1]!.toOutput) expectNear(re, 0.25, 1e-8);
  });

  it('a filter of resistor and capacitor keeps the ripple out as its corner says', () => {
    const [rail] = railsAt([
      input('in'), resistor('RI', 'in', 'out', 1e12), source('VCC', 'vp', 'ground', 24), resistor('RF', 'vp', 'out', 1000), capacitor('CF', 'out', 'ground', 1e-6), resistor('RL', 'out', 'ground', 1e6),
    ], ['out', 'ground'], [100, 1000, 10_000]);
    [100, 1000, 10_000].forEach((hz, index) => {
      const { re, im } = rail!.toOutput[index]!;
      const divider = 1e6 / (1e6 + 1000);
      expectNear(Math.hypot(re, im), divider / Math.hypot(1, 2 * Math.PI * hz * 1e-6 * 1000 * divider), 1e-6);
    });
  });

  it('a common emitter passes nearly all of its supply\'s ripple, and draws its collector current through the rail', () => {
    const document = commonEmitter();
    const system = assembleCircuit(document);
    const [rail] = railResponses(document, system, findOperatingPoint(system), [1000]);
    const parts: Part[] = [
      input('in'), bipolar('Q1', 'npn', ['c', 'b', 'ground']), source('VB', 'b', 'in', 0.66), resistor('RC', 'vcc', 'c', 1000), source('VCC', 'vcc', 'ground', 10),
    ];
    // RC to the rail, collector a current source (output resistance far above RC), 10 kΩ load: RL/(RL + RC) of it.
    const size = Math.hypot(rail!.toOutput[0]!.re, rail!.toOutput[0]!.im);
    expect(size).toBeGreaterThan(0.7);
    expect(size).toBeLessThan(0.85);
    const [plain] = railsAt(parts, ['c', 'ground'], [1000]);
    // What the input draws from the rail is the collector's current: output volts over RC, upside down.
    const other = assembleCircuit(parsedOf(parts, ['c', 'ground']));
    const point = findOperatingPoint(other);
    const slope = (findOperatingPoint(other, 1e-6).outputVolts - point.outputVolts) / 1e-6;
    expectNear(plain!.drawnByInput![0]!.re, -slope / 1000, 1e-4 * Math.abs(slope / 1000));
  });

  it('agrees with a general circuit simulator', () => {
    // ngspice 39 once, by hand: the common emitter of the noise test, 1 V of alternating voltage on its 24 V, "ac dec 1 10 100k"; V/V and radians at 10 Hz and 1 kHz at the collector.
    const [rail] = railsAt([
      input('in'), resistor('RS', 'in', 's', 1000), capacitor('C1', 's', 'b', 100e-6), resistor('R1', 'vp', 'b', 150e3), resistor('R2', 'b', 'ground', 15e3),
      bipolar('Q1', 'npn', ['c', 'b', 'e'], { forwardBeta: 200, baseOhms: 200 }),
      resistor('RC', 'vp', 'c', 4700), resistor('RE', 'e', 'x', 100), resistor('REB', 'x', 'ground', 900), capacitor('CE', 'x', 'ground', 1000e-6),
      resistor('RL', 'c', 'ground', 10e3), source('VCC', 'vp', 'ground', 24),
    ], ['c', 'ground'], [10, 1000]);
    [[0.5156621, 3.467991e-3], [0.5157737, 3.497430e-5]].forEach(([size, phase], index) => {
      const { re, im } = rail!.toOutput[index]!;
      expectNear(Math.hypot(re, im), size!, 1e-6);
      expectNear(Math.atan2(im, re), phase!, 1e-7);
    });
  });

  it('a pair of followers rejects what comes on both rails', () => {
    const document = pushPull(2.6e-3, false);
    const system = assembleCircuit(document);
    const rails = railResponses(document, system, findOperatingPoint(system), [100]);
    expect(rails.map(({ component }) => component)).toEqual(['VCC', 'VEE']);
    for (const { toOutput: [one] } of rails) expect(20 * Math.log10(Math.hypot(one!.re, one!.im))).toBeLessThan(-60);
  });
});

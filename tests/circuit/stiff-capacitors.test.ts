// Which capacitors step by backward Euler: the expected cases of our own measurements, each with what it costs.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, buildProgram } from '../../dsp/circuit/index.ts';
import { unpackJacobian } from '../../dsp/circuit/linearise.ts';
import { findOperatingPoint } from '../../dsp/circuit/operating-point.ts';
import { reduce } from '../../dsp/circuit/reduce.ts';
import { chooseBackwardEuler } from '../../dsp/circuit/stiff-capacitors.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import { bipolar, commonEmitter, expectWithin, opAmpLoop, rateHz } from './support.ts';

/** An amplifying stage whose output meets 220 pF through 10 Ω. */
function behindTenOhms(farads: number): CircuitDocument {
  return parsedOf([
    input('in', 'ground', 0.68), resistor('RS', 'in', 'b', 100), bipolar('Q1', 'npn', ['c', 'b', 'e']), resistor('RE', 'e', 'ground', 10),
    resistor('RF', 'in', 'f', 10), capacitor('CF', 'f', 'ground', farads),
    resistor('RC', 'v', 'c', 1000), source('V', 'v', 'ground', 12), capacitor('CC', 'c', 'd', 10e-6), resistor('RD', 'd', 'ground', 10e3),
    capacitor('CL', 'd', 'ground', 1e-9),
  ], ['d', 'ground']);
}

describe('stiff capacitors', () => {
  it('flags 220 pF behind 10 Ω, with ratio and cost', () => {
    const document = parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12)], ['out', 'ground']);
    const { backwardEuler, stateBackwardEuler } = buildProgram(document, { rateHz });
    expect(backwardEuler.map(({ name }) => name)).toEqual(['C1']);
    expect(Array.from(stateBackwardEuler)).toEqual([1]);
    // (1 − 2τ/h)/(1 + 2τ/h) mirrored: (h − 2τ)/(h + 2τ) with τ = 2.2 ns, h = 2.604 µs.
    expectWithin(backwardEuler[0]!.ratio, -(1 / rateHz - 4.4e-9) / (1 / rateHz + 4.4e-9), 2e-3);
    // |H| of backward Euler: 1/|1 + (τ/h)(1 − e^(−jωh))| at 50 kHz.
    const angle = (2 * Math.PI * 50_000) / rateHz;
    const g = 2.2e-9 * rateHz;
    const expected = 10 * Math.log10((1 + g * (1 - Math.cos(angle))) ** 2 + (g * Math.sin(angle)) ** 2) - 10 * Math.log10(1 + (2.2e-9 * 2 * rateHz * Math.tan(angle / 2)) ** 2);
    expectWithin(backwardEuler[0]!.errorDb, Math.abs(expected), 1e-6);
    expect(backwardEuler[0]!.errorDb).toBeLessThan(0.005);
  });

  it('blames the capacitor that carries the mode, not its neighbours', () => {
    const { backwardEuler } = buildProgram(behindTenOhms(220e-12), { rateHz });
    expect(backwardEuler.map(({ name }) => name)).toEqual(['CF']);
  });

  it('leaves alone what rings little, and refuses what would cost too much', () => {
    // A 10 pF Miller capacitor is no candidate; the op-amp's compensation is refused; large coupling capacitors have ratios near +1.
    const miller = parsedOf([
      input('in', 'ground', 0.68), resistor('RS', 'in', 'b', 1000), bipolar('Q1', 'npn', ['c', 'b', 'e']), resistor('RE', 'e', 'ground', 47),
      resistor('RC', 'v', 'c', 2200), source('V', 'v', 'ground', 12), capacitor('CM', 'c', 'b', 10e-12), resistor('RL', 'c', 'ground', 10e3),
    ], ['c', 'ground']);
    expect(buildProgram(miller, { rateHz }).backwardEuler).toEqual([]);
    expect(buildProgram(opAmpLoop(), { rateHz }).backwardEuler.map(({ name }) => name)).not.toContain('CC');
    expect(buildProgram(commonEmitter(), { rateHz }).backwardEuler).toEqual([]);
  });

  it('refuses a capacitor that rings but whose cure would be heard, and says nothing of it', () => {
    // 2.2 pF across a feedback resistor of an inverting amplifier of high gain: the mode rings, backward Euler costs more than 0.005 dB.
    const document = parsedOf([
      input('in'), resistor('R1', 'in', 'n', 2200), resistor('R2', 'n', 'out', 22e3), capacitor('CF', 'n', 'out', 2.2e-12),
      { kind: 'amplifier', name: 'A', out: ['out', 'ground'], in: ['ground', 'n'], gain: 1e5 },
    ], ['out', 'ground']);
    const system = assembleCircuit(document);
    const point = findOperatingPoint(system);
    const jacobian = unpackJacobian(system.devices, point.jacobian);
    const build = (backwardEuler: Uint8Array): ReturnType<typeof reduce> => reduce(system, { stepSeconds: 1 / rateHz, backwardEuler, shift: null, redundant: [] });
    const { flags, choices } = chooseBackwardEuler(build, [jacobian], system.states, 1 / rateHz);
    const reduced = build(new Uint8Array(1));
    expect(reduced.stateMemory[0]!).toBeLessThan(-0.9);
    expect(Array.from(flags)).toEqual([0]);
    expect(choices).toEqual([]);
  });

  it('judges at the driven bias too: a capacitor stiff only where a device conducts', () => {
    // A diode that is off at rest and carries milliamperes at +1.7 V: 4.7 nF see 10 kΩ at rest and a few ohms when driven.
    const document = parsedOf([
      input('in'), resistor('R1', 'in', 'a', 10), { kind: 'diode', name: 'D1', anode: 'a', cathode: 'b', saturationAmperes: 1e-9, emissionCoefficient: 1 },
      capacitor('C1', 'b', 'ground', 200e-12), resistor('R2', 'b', 'ground', 10e3), resistor('R3', 'in', 'out', 1000), resistor('R4', 'out', 'ground', 1000),
    ], ['out', 'ground']);
    expect(buildProgram(document, { rateHz }).backwardEuler.map(({ name }) => name)).toEqual(['C1']);
    expect(buildProgram(document, { rateHz, nominalPeakVolts: 1e-3 }).backwardEuler).toEqual([]);
  });
});

// The judge is judged first: closed forms, then the bench's operating points against it.
import { describe, expect, it } from 'vitest';
import { assembleCircuit } from '../../dsp/circuit/assemble.ts';
import { findOperatingPoint } from '../../dsp/circuit/operating-point.ts';
import { capacitor, documentFile, inductor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import { DirectSolution } from '../support/direct-solution.ts';

function expectWithin(actual: number, expected: number, limit: number): void {
  expect(!(Math.abs(actual - expected) <= limit) ? `got ${actual}, expected ${expected}, limit ${limit}` : 'within').toBe('within');
}

describe('the direct solution against closed forms', () => {
  it('charges a capacitor through a resistor', () => {
    const solution = new DirectSolution(parsedOf([input('a'), resistor('R1', 'a', 'b', 1000), capacitor('C1', 'b', 'ground', 1e-6)], ['b', 'ground']), { rate: 10_000 });
    const out = solution.rest().run(20, () => 1);
    // τ = 1 ms = 640 steps. A backward Euler step is (h/τ)²/2 = 1.2e-6 off, four of them 5e-6; trapezoidal adds 1e-7.
    out.forEach((value, frame) => expectWithin(value, 1 - Math.exp(-(frame + 1) * 0.1), 6e-6));
  });

  it('rings at the frequency and decay of R, L and C', () => {
    const parts = [input('a'), resistor('R1', 'a', 'b', 20), inductor('L1', 'b', 'c', 1e-3), capacitor('C1', 'c', 'ground', 1e-6)];
    const out = new DirectSolution(parsedOf(parts, ['c', 'ground']), { rate: 200_000 }).rest().run(60, () => 1);
    const decay = 20 / 2e-3;
    const omega = Math.sqrt(1e9 - decay * decay);
    out.forEach((value, frame) => {
      const t = (frame + 1) / 200_000;
      expectWithin(value, 1 - Math.exp(-decay * t) * (Math.cos(omega * t) + (decay / omega) * Math.sin(omega * t)), 3e-5);
    });
  });

  it('couples windings: leakage and magnetising time constants', () => {
    const windings = { primary: ['b', 'ground'], secondary: ['c', 'ground'] };
    const parts = [input('a'), resistor('R1', 'a', 'b', 100), { kind: 'coupled-inductors', name: 'T1', ...windings, primaryHenries: 1, secondaryHenries: 1, coupling: 1 }, resistor('R2', 'c', 'ground', 100)];
    // Full coupling: half the step at once, then decay with L/(R1 ∥ R2) = 20 ms.
    const full = new DirectSolution(parsedOf(parts, ['c', 'ground']), { rate: 1000 }).rest().run(20, () => 1);
    full.forEach((value, frame) => expectWithin(value, 0.5 * Math.exp(-(frame + 1) / 20), 2e-6));
    const loose = new DirectSolution(parsedOf(parts.map((part) => ('coupling' in part ? { ...part, coupling: 0.999 } : part)), ['c', 'ground']), { rate: 1000 }).rest().run(20, () => 1);
    // Two windings of equal L and R: common mode L(1+k)/R, differential L(1−k)/R; v2 = (e^(−t/τc) − e^(−t/τd))/2.
    loose.forEach((value, frame) => expectWithin(value, 0.5 * (Math.exp(-(frame + 1) / 19.99) - Math.exp(-(frame + 1) / 0.01)), 1e-4));
  });

  it('solves a diode and its resistor', () => {
    const parts = [source('V1', 's', 'ground', 5), resistor('R1', 's', 'a', 1000), { kind: 'diode', name: 'D1', anode: 'a', cathode: 'ground', saturationAmperes: 1e-14, emissionCoefficient: 1 }];
    const volts = new DirectSolution(parsedOf(parts, ['a', 'ground']), { rate: 1000 }).rest().outputVolts;
    const vt = 1.380649e-23 * 300.15 / 1.602176634e-19;
    expectWithin(volts, vt * Math.log1p((5 - volts) / 1000 / 1e-14), 1e-11);
  });
});

describe('operating points agree with the direct solution', () => {
  it.each(['single-ended-bipolar', 'single-ended-field-effect', 'single-ended-valve', 'push-pull'])('%s, every node', (name) => {
    const document = documentFile(name);
    const direct = new DirectSolution(document, { rate: 48_000 }).rest();
    const point = findOperatingPoint(assembleCircuit(document));
    // 1 nV: the direct solution stops at moves of 1e-11 V.
    for (const node of direct.nodes.filter((known) => !known.startsWith('inside '))) expectWithin(point.nodeVolts(node), direct.nodeVolts(node), 1e-9);
  });
});

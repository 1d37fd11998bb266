import { describe, expect, it } from 'vitest';
import { deviceKind } from '../../dsp/circuit/index.ts';
import type { CircuitSystem, StampedEquations } from '../../dsp/circuit/index.ts';
import { capacitor, inductor, input, resistor, source, systemOf } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';

const directCurrent = { kind: 'direct-current' } as const;
const step = (system: CircuitSystem, backwardEuler: readonly number[] = []): StampedEquations =>
  system.stamp({ kind: 'step', stepSeconds: 1e-3, backwardEuler: Uint8Array.from(system.states, (_, k) => backwardEuler[k] ?? 0) });

/** Rows of a row-major matrix. */
function rows(matrix: Float64Array, columns: number): number[][] {
  return Array.from({ length: matrix.length / columns }, (_, row) => [...matrix.subarray(row * columns, (row + 1) * columns)]);
}

const transistor: Part = {
  kind: 'bipolar', name: 'Q1', polarity: 'pnp', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-14, forwardBeta: 100, reverseBeta: 2, earlyVolts: 80,
};

describe('numbering', () => {
  it('goes by first mention, terminals in the field table\'s order, whatever order the fields had', () => {
    const parts = [{ anode: 'x', kind: 'triode', name: 'V1', cathode: 'y', grid: 'z', perveance: 1e-3, mu: 20 }, resistor('R1', 'w', 'z', 1), input('v')];
    expect(systemOf(parts, ['x', 'y']).nodeNames).toEqual(['x', 'z', 'y', 'w', 'v']);
  });

  it('puts an inner base after its transistor\'s terminals, branches in document order after the nodes', () => {
    const system = systemOf([
      inductor('L1', 'p', 'q', 1), { ...transistor, baseOhms: 10 }, input('b'), resistor('R1', 'r', 'ground', 1), source('V1', 'r', 'q', 1),
      { kind: 'coupled-inductors', name: 'T1', primary: ['p', 'ground'], secondary: ['q', 'ground'], primaryHenries: 1, secondaryHenries: 4, coupling: 0.5 },
    ], ['r', 'ground']);
    expect(system.nodeNames).toEqual(['p', 'q', 'c', 'b', 'e', 'Q1 inner base', 'r']);
    expect(system.branchNames).toEqual(['L1', 'IN', 'V1', 'T1', 'T1']);
    expect(system.size).toBe(12);
    expect(system.inputBranch).toBe(8);
    expect(system.outputRows).toEqual([6, -1]);
  });

  it('does not go by names', () => {
    const named = (order: readonly string[]): CircuitSystem => systemOf([
      input(order[0]!), resistor(order[1]!, order[0]!, order[2]!, 5), capacitor(order[3]!, order[2]!, 'ground', 1e-6),
    ], [order[2]!, 'ground']);
    expect([...step(named(['a', 'b', 'c', 'd'])).matrix]).toEqual([...step(named(['z', 'y', 'x', 'w'])).matrix]);
  });

  it('lists states by name with the rows their quantity is read from', () => {
    const system = systemOf([
      capacitor('C1', 'a', 'b', 1e-6), inductor('L1', 'b', 'ground', 1), input('a'), { ...transistor, emitterCapacitanceFarads: 1e-11, collectorCapacitanceFarads: 2e-12 },
      { kind: 'coupled-inductors', name: 'T1', primary: ['a', 'ground'], secondary: ['b', 'ground'], primaryHenries: 1, secondaryHenries: 4, coupling: 1 },
      { kind: 'coupled-inductors', name: 'T2', primary: ['a', 'ground'], secondary: ['b', 'ground'], primaryHenries: 1, secondaryHenries: 4, coupling: 0.5 },
    ], ['a', 'b']);
    expect(system.nodeNames).toEqual(['a', 'b', 'c', 'e']);
    expect(system.states).toEqual([
      { name: 'C1', kind: 'capacitor', unit: 1 }, { name: 'L1', kind: 'inductor', unit: 1e-3 },
      { name: 'Q1 base–emitter', kind: 'capacitor', unit: 1 }, { name: 'Q1 base–collector', kind: 'capacitor', unit: 1 },
      { name: 'T1 magnetising', kind: 'inductor', unit: 1e-3 }, { name: 'T2 primary', kind: 'inductor', unit: 1e-3 }, { name: 'T2 secondary', kind: 'inductor', unit: 1e-3 },
    ]);
    expect(system.branchNames).toEqual(['L1', 'IN', 'T1 transformer', 'T1', 'T2', 'T2']);
    expect(rows(Float64Array.from(system.stateRows), 2)).toEqual([[0, 1], [4, -1], [1, 3], [1, 2], [7, -1], [8, -1], [9, -1]]);
  });

  it('mirrors p-types by sign and leaves their parameters', () => {
    const system = systemOf([input('b'), transistor, resistor('R1', 'c', 'e', 1)], ['c', 'e']);
    expect([...system.controlRows]).toEqual([0, 2, 0, 1]);
    expect([...system.controlSigns]).toEqual([-1, -1]);
    expect([...system.currentRows]).toEqual([0, 2, 0, 1]);
    expect([...system.currentSigns]).toEqual([-1, -1]);
    expect(system.devices.kinds[0]).toBe(deviceKind.bipolar);
    // A positive current of the mirrored device flows from emitter to base: out of the emitter's row into the base's.
    expect(rows(step(system).current, 2)).toEqual([[1, 1], [0, -1], [-1, 0], [0, 0]]);
  });
});

// Each stamp written out by hand from the equations in the docblock of stamps.ts. Node a is row 0, b row 1.
describe('stamps', () => {
  it('resistor, sources, input', () => {
    const system = systemOf([resistor('R1', 'a', 'b', 4), { kind: 'current-source', name: 'I1', from: 'a', to: 'b', amperes: 3 }, source('V1', 'b', 'ground', 7), input('a', 'b', 2)], ['a', 'b']);
    const stamped = system.stamp(directCurrent);
    expect(rows(stamped.matrix, 4)).toEqual([[0.25, -0.25, 0, 1], [-0.25, 0.25, 1, -1], [0, 1, 0, 0], [1, -1, 0, 0]]);
    expect([...stamped.constant]).toEqual([-3, 3, 7, 2]);
    expect([...stamped.input]).toEqual([0, 0, 0, 1]);
  });

  it('amplifier and ideal transformer', () => {
    const amplified = systemOf([resistor('R1', 'a', 'b', 1), { kind: 'amplifier', name: 'A1', out: ['a', 'ground'], in: ['b', 'ground'], gain: 50 }], ['a', 'ground']);
    expect(rows(amplified.stamp(directCurrent).matrix, 3)).toEqual([[1, -1, 1], [-1, 1, 0], [1, -50, 0]]);
    const transformed = systemOf([{ kind: 'ideal-transformer', name: 'T1', primary: ['a', 'ground'], secondary: ['b', 'ground'], turnsRatio: 3 }], ['a', 'ground']);
    expect(rows(transformed.stamp(directCurrent).matrix, 3)).toEqual([[0, 0, 1], [0, 0, -3], [1, -3, 0]]);
  });

  it('capacitor: open at direct current, 2C/h, C/h where backward Euler, C in the storage', () => {
    const system = systemOf([capacitor('C1', 'a', 'b', 1e-6), resistor('R1', 'a', 'b', 1)], ['a', 'b']);
    expect(rows(system.stamp(directCurrent).matrix, 2)).toEqual([[1, -1], [-1, 1]]);
    expect([...system.stamp(directCurrent).memory]).toEqual([0, 0]);
    const trapezoidal = 2e-6 / 1e-3;
    expect([...step(system).memory].map((value) => value / trapezoidal)).toEqual([expect.closeTo(1, 12), expect.closeTo(-1, 12)]);
    expect(step(system).matrix[0]! - 1).toBeCloseTo(trapezoidal, 12);
    expect(step(system, [1]).memory[0]).toBeCloseTo(trapezoidal / 2, 12);
    expect(rows(system.stampStorage(), 2)).toEqual([[1e-6, -1e-6], [-1e-6, 1e-6]]);
  });

  it('inductor: short at direct current, −2L/h on its own current', () => {
    const system = systemOf([inductor('L1', 'a', 'b', 0.5)], ['a', 'b']);
    expect(rows(system.stamp(directCurrent).matrix, 3)).toEqual([[0, 0, 1], [0, 0, -1], [1, -1, 0]]);
    expect(rows(step(system).matrix, 3)).toEqual([[0, 0, 1], [0, 0, -1], [1, -1, -1000]]);
    expect([...step(system).memory]).toEqual([0, 0, -1000]);
    expect(step(system, [1]).matrix[8]).toBe(-500);
    expect(system.stampStorage()[8]).toBe(-0.5);
  });

  it('coupled inductors: the mutual part across, M = k √(L1 L2)', () => {
    const system = systemOf([{ kind: 'coupled-inductors', name: 'T1', primary: ['a', 'ground'], secondary: ['b', 'ground'], primaryHenries: 1, secondaryHenries: 4, coupling: 0.25 }], ['a', 'b']);
    expect(rows(system.stamp(directCurrent).matrix, 4)).toEqual([[0, 0, 1, 0], [0, 0, 0, 1], [1, 0, 0, 0], [0, 1, 0, 0]]);
    expect(rows(step(system).matrix, 4)).toEqual([[0, 0, 1, 0], [0, 0, 0, 1], [1, 0, -2000, -1000], [0, 1, -1000, -8000]]);
    expect(rows(step(system).memory, 2)).toEqual([[0, 0], [0, 0], [-2000, -1000], [-1000, -8000]]);
    expect(rows(system.stampStorage(), 4).slice(2)).toEqual([[0, 0, -1, -0.5], [0, 0, -0.5, -4]]);
  });

  it('full coupling: √(L1/L2) : 1 and the primary\'s inductance, one state', () => {
    const system = systemOf([{ kind: 'coupled-inductors', name: 'T1', primary: ['a', 'ground'], secondary: ['b', 'ground'], primaryHenries: 1, secondaryHenries: 4, coupling: 1 }], ['a', 'b']);
    expect(rows(step(system).matrix, 4)).toEqual([[0, 0, 1, 1], [0, 0, -0.5, 0], [1, -0.5, 0, 0], [1, 0, 0, -2000]]);
    expect(system.states).toHaveLength(1);
  });

  it('device currents: out of the first row, into the second', () => {
    const system = systemOf([input('r'), { kind: 'tanh-transconductor', name: 'G1', out: ['p', 'q'], in: ['r', 'ground'], maxAmperes: 1e-3, scaleVolts: 0.05 }], ['p', 'q']);
    // r, p, q, branch: the current is driven into p and taken from q.
    expect(system.nodeNames).toEqual(['r', 'p', 'q']);
    expect([...system.stamp(directCurrent).current]).toEqual([0, 1, -1, 0]);
  });
});

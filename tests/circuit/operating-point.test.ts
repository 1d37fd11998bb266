import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { assembleCircuit } from '../../dsp/circuit/assemble.ts';
import { findOperatingPoint } from '../../dsp/circuit/operating-point.ts';
import type { OperatingPoint } from '../../dsp/circuit/operating-point.ts';
import { resolveValues, stageById } from '../../dsp/stages/index.ts';
import { capacitor, documentFile, inductor, input, resistor, source, systemOf } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';

const vt = 1.380649e-23 * 300.15 / 1.602176634e-19;

function pointOf(parts: readonly Part[], output: string, inputVolts = 0): OperatingPoint {
  return findOperatingPoint(systemOf(parts, [output, 'ground']), inputVolts);
}

function errorOf(parts: readonly Part[], output = 'a'): string {
  try {
    pointOf(parts, output);
  } catch (error) {
    return (error as Error).message;
  }
  return 'no error';
}

function expectWithin(actual: number, expected: number, limit: number): void {
  expect(!(Math.abs(actual - expected) <= limit) ? `got ${actual}, expected ${expected}, limit ${limit}` : 'within').toBe('within');
}

const diode = (name: string, anode: string, cathode: string): Part => ({ kind: 'diode', name, anode, cathode, saturationAmperes: 1e-14, emissionCoefficient: 1 });
const transistor = (name: string, collector: string, base: string, emitter: string, more: Part = {}): Part => ({
  kind: 'bipolar', name, polarity: 'npn', collector, base, emitter, saturationAmperes: 1e-14, forwardBeta: 100, reverseBeta: 1, earlyVolts: null, ...more,
});

describe('linear circuits', () => {
  it('divides a voltage', () => {
    const point = pointOf([source('V1', 'a', 'ground', 9), resistor('R1', 'a', 'b', 2000), resistor('R2', 'b', 'ground', 1000)], 'b');
    expectWithin(point.outputVolts, 3, 1e-12);
    expectWithin(point.nodeVolts('a'), 9, 1e-12);
    expect(point.nodeVolts('ground')).toBe(0);
    expect(() => point.nodeVolts('z')).toThrow('expected one of the nodes a, b, got "z"');
  });

  it('takes inductors as shorts, capacitors as open, and sources as the document counts them', () => {
    const point = pointOf([
      { kind: 'current-source', name: 'I1', from: 'ground', to: 'a', amperes: 2e-3 }, inductor('L1', 'a', 'b', 1), resistor('R1', 'b', 'ground', 1000),
      capacitor('C1', 'b', 'c', 1e-6), resistor('R2', 'c', 'ground', 1000),
    ], 'c');
    expectWithin(point.nodeVolts('b'), 2, 1e-12);
    expect(point.outputVolts).toBe(0);
  });

  it('passes direct current through an ideal transformer, not through coupled inductors', () => {
    const windings = { primary: ['a', 'ground'], secondary: ['b', 'ground'] };
    const feed = [source('V1', 's', 'ground', 4), resistor('R1', 's', 'a', 100), resistor('R2', 'b', 'ground', 25)];
    // n = 2: 25 Ω reflects as 100 Ω, so the primary has 2 V and the secondary 1 V.
    expectWithin(pointOf([...feed, { kind: 'ideal-transformer', name: 'T1', ...windings, turnsRatio: 2 }], 'b').outputVolts, 1, 1e-12);
    for (const coupling of [0.9, 1]) {
      const coupled = { kind: 'coupled-inductors', name: 'T1', ...windings, primaryHenries: 4, secondaryHenries: 1, coupling };
      expectWithin(pointOf([...feed, coupled], 'b').outputVolts, 0, 1e-12);
    }
  });

  it('closes the loop of an amplifier', () => {
    const parts = [input('in', 'ground', 0.1), { kind: 'amplifier', name: 'A1', out: ['o', 'ground'], in: ['in', 'f'], gain: 1e5 }, resistor('R1', 'o', 'f', 9000), resistor('R2', 'f', 'ground', 1000)];
    // gain A/(1 + A/10)
    expectWithin(pointOf(parts, 'o').outputVolts, 0.1 * 1e5 / (1 + 1e4), 1e-9);
    expectWithin(pointOf(parts, 'o', 0.2).outputVolts, 0.3 * 1e5 / (1 + 1e4), 1e-9);
  });
});

describe('one nonlinear device', () => {
  it.each([0.5, 5, 50])('diode fed from %d V over 1 kΩ obeys its own equation', (volts) => {
    const { outputVolts } = pointOf([source('V1', 's', 'ground', volts), resistor('R1', 's', 'a', 1000), diode('D1', 'a', 'ground')], 'a');
    const current = (volts - outputVolts) / 1000;
    expectWithin(outputVolts, vt * Math.log(current / 1e-14 + 1), 1e-11);
  });

  it('npn and pnp, n- and p-channel are mirrors', () => {
    const bias = (sign: number, device: Part): Part[] => [
      source('V1', 's', 'ground', sign * 12), resistor('R1', 's', 'b', 470e3), resistor('R2', 's', 'c', 1000), resistor('R3', 'e', 'ground', 220), resistor('R4', 'b', 'ground', 330e3), device,
    ];
    for (const [kind, terminals, p] of [
      ['bipolar', { collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-14, forwardBeta: 300, reverseBeta: 2, earlyVolts: 50, baseOhms: 20 }, { polarity: 'pnp' }],
      ['field-effect', { drain: 'c', gate: 'b', source: 'e', thresholdVolts: 0.2, betaAmperesPerVolt2: 20e-3, lambdaPerVolt: 0.02, gateSaturationAmperes: 1e-14 }, { channel: 'p' }],
    ] as const) {
      const n = kind === 'bipolar' ? { polarity: 'npn' } : { channel: 'n' };
      const plus = pointOf(bias(1, { kind, name: 'Q1', ...terminals, ...n }), 'c');
      const minus = pointOf(bias(-1, { kind, name: 'Q1', ...terminals, ...p }), 'c');
      expect(plus.outputVolts).toBeLessThan(11.5);
      expect([...minus.w]).toEqual([...plus.w].map((value) => -value));
      expect([...minus.currents]).toEqual([...plus.currents]);
    }
  });

  it('base resistance and β set a grounded-emitter stage', () => {
    const parts = [source('V1', 's', 'ground', 10), resistor('RB', 's', 'b', 930e3), resistor('RC', 's', 'c', 1000), transistor('Q1', 'c', 'b', 'ground', { baseOhms: 1000 })];
    const point = pointOf(parts, 'c');
    const base = (10 - point.nodeVolts('b')) / 930e3;
    // IS/βR of the blocked collector junction is missing from the base: times β, 1e-12 A.
    expectWithin((10 - point.outputVolts) / 1000, 100 * base, 1e-11);
    expectWithin(point.nodeVolts('b'), 1000 * base + vt * Math.log(1 + base * 100 / 1e-14), 1e-10);
  });
});

describe('hard cases', () => {
  it('an emitter pair on an ideal tail needs no leak', () => {
    const point = pointOf([
      source('V1', 'p', 'ground', 12), source('V2', 'm', 'ground', -12), input('b1', 'ground', 0.005),
      resistor('R1', 'p', 'c1', 4700), resistor('R2', 'p', 'c2', 4700), transistor('Q1', 'c1', 'b1', 'e', { forwardBeta: 1e12 }), transistor('Q2', 'c2', 'b2', 'e', { forwardBeta: 1e12 }),
      source('V3', 'b2', 'ground', 0), { kind: 'current-source', name: 'I1', from: 'e', to: 'm', amperes: 2e-3 },
    ], 'c1');
    // tanh law of the pair.
    expectWithin((point.nodeVolts('c2') - point.nodeVolts('c1')) / 4700, 2e-3 * Math.tanh(0.005 / (2 * vt)), 1e-11);
  });

  it('a pair held through 1 nΩ: rows of 1 S beside rows of 1 GS', () => {
    const device = { saturationAmperes: 1e-18, forwardBeta: 1e12 };
    for (let held = -0.05; held > -0.2; held -= 0.00037) {
      const point = pointOf([
        input('m'), source('VB1', 'b1', 'm', 0.9), source('VB2', 'm', 'b2', 0.9), transistor('Q1', 'vp', 'b1', 'e1', device), transistor('Q2', 'vm', 'b2', 'e2', { ...device, polarity: 'pnp' }),
        resistor('RE1', 'e1', 'o', 0.22), resistor('RE2', 'e2', 'o', 0.22), source('VO', 'h', 'ground', held), resistor('RH', 'h', 'o', 1e-9),
        source('VP', 'vp', 'ground', 40), source('VM', 'vm', 'ground', -40),
      ], 'o');
      expectWithin(0.9 - point.nodeVolts('e1'), vt * Math.log((point.nodeVolts('e1') - point.outputVolts) / 0.22 / 1e-18), 1e-9);
    }
  });

  it('1 TΩ beside 1 nΩ is no undetermined node', () => {
    const point = pointOf([source('V1', 'a', 'ground', 8), resistor('R1', 'a', 'b', 1e12), resistor('R2', 'b', 'ground', 1e12), resistor('R3', 'a', 'c', 1e-9), resistor('R4', 'c', 'ground', 1)], 'b');
    expectWithin(point.outputVolts, 4, 1e-9);
  });

  it('a bistable pair comes to the same state every time', () => {
    const flipFlop = [
      source('V1', 'p', 'ground', 10), resistor('R1', 'p', 'c1', 1000), resistor('R2', 'p', 'c2', 1000), resistor('R3', 'c1', 'b2', 10e3), resistor('R4', 'c2', 'b1', 10e3),
      transistor('Q1', 'c1', 'b1', 'ground'), transistor('Q2', 'c2', 'b2', 'ground'),
    ];
    const first = pointOf(flipFlop, 'c1');
    expect([...pointOf(flipFlop, 'c1').w]).toEqual([...first.w]);
  });

  it('random resistor and diode ladders obey Kirchhoff', () => {
    fc.assert(fc.property(fc.array(fc.tuple(fc.double({ min: 10, max: 1e6, noNaN: true }), fc.boolean(), fc.boolean()), { minLength: 1, maxLength: 8 }), fc.double({ min: -300, max: 300, noNaN: true }), (rungs, volts) => {
      const parts = [source('V1', 'n0', 'ground', volts)];
      rungs.forEach(([ohms, shunt, forward], k) => {
        parts.push(resistor(`R${k}`, `n${k}`, `n${k + 1}`, ohms), shunt ? resistor(`S${k}`, `n${k + 1}`, 'ground', ohms) : diode(`D${k}`, ...(forward ? [`n${k + 1}`, 'ground'] : ['ground', `n${k + 1}`]) as [string, string]));
      });
      const point = pointOf(parts, `n${rungs.length}`);
      // At each inner node the currents sum to nothing, to 1e-9 of what flows there plus 1e-15 A.
      rungs.forEach(([ohms, shunt, forward], k) => {
        const here = point.nodeVolts(`n${k + 1}`);
        const arriving = (point.nodeVolts(`n${k}`) - here) / ohms;
        const next = rungs[k + 1];
        const leaving = next ? (here - point.nodeVolts(`n${k + 2}`)) / next[0] : 0;
        const shunted = shunt ? here / ohms : (forward ? 1 : -1) * 1e-14 * Math.expm1((forward ? here : -here) / vt);
        const terms = Math.abs(arriving) + Math.abs(leaving) + Math.abs(shunted);
        // Node voltages of up to 300 V are known to 1e-13 V at best: through the smallest resistance that is 1e-14 A.
        if (!(Math.abs(arriving - leaving - shunted) <= 1e-9 * terms + 1e-13)) throw new Error(`node n${k + 1}: ${arriving} in, ${leaving} + ${shunted} out`);
      });
    }), { seed: 20261125, numRuns: 60 });
  });

  it('iterations of the single-ended stage are of the order the method is known for', () => {
    const { iterations } = pointOf(documentFileParts('single-ended-bipolar'), 'o');
    expect(iterations).toBeGreaterThan(60);
    expect(iterations).toBeLessThan(200);
  });
});

function documentFileParts(name: string): readonly Part[] {
  return documentFile(name).components as unknown as readonly Part[];
}

describe('circuits without an operating point say why', () => {
  it('a node behind capacitors', () => {
    expect(errorOf([input('a'), capacitor('C1', 'a', 'b', 1e-6), capacitor('C2', 'b', 'ground', 1e-6)]))
      .toBe('node "b": its DC voltage is undetermined; only capacitors or current outputs reach it. Add a DC path to ground');
  });

  it('a floating group of resistors', () => {
    expect(errorOf([input('a'), capacitor('C1', 'a', 'b', 1e-6), resistor('R1', 'b', 'c', 333), resistor('R2', 'c', 'd', 777)]))
      .toMatch(/^node "[bcd]": its DC voltage is undetermined/);
  });

  it('the primary of a transformer without a DC path', () => {
    expect(errorOf([
      input('a'), capacitor('C1', 'a', 'b', 1e-6), capacitor('C2', 'c', 'ground', 1e-6), resistor('R1', 'e', 'ground', 10),
      { kind: 'coupled-inductors', name: 'T1', primary: ['b', 'c'], secondary: ['e', 'ground'], primaryHenries: 1, secondaryHenries: 1, coupling: 0.99 },
    ])).toMatch(/^node "[bc]": its DC voltage is undetermined/);
  });

  it('a current source into nothing but a tanh output', () => {
    expect(errorOf([
      input('a'), { kind: 'tanh-transconductor', name: 'G1', out: ['b', 'ground'], in: ['a', 'ground'], maxAmperes: 1e-3, scaleVolts: 0.05 }, capacitor('C1', 'b', 'ground', 1e-9),
    ])).toContain('node "b": its DC voltage is undetermined');
  });

  it('loops of sources that contradict themselves', () => {
    expect(errorOf([source('V1', 'a', 'ground', 5), source('V2', 'a', 'ground', 6), resistor('R1', 'a', 'ground', 1)])).toBe('loop of voltage sources V1, V2 contradicts itself');
    expect(errorOf([source('V1', 'a', 'ground', 5), source('V2', 'b', 'a', 1), inductor('L3', 'b', 'ground', 1), resistor('R1', 'b', 'ground', 1)]))
      .toBe('loop of voltage sources V1, V2, L3 contradicts itself');
    expect(errorOf([input('a'), source('V1', 'a', 'ground', 0), resistor('R1', 'a', 'ground', 1)])).toBe('loop of voltage sources IN, V1 contradicts itself');
  });

  it('names the right loop of two', () => {
    expect(errorOf([
      source('V1', 'a', 'ground', 5), source('V2', 'a', 'ground', 5), source('V3', 'b', 'ground', 5), source('V4', 'b', 'ground', 4), resistor('R1', 'a', 'b', 10),
    ])).toBe('loop of voltage sources V3, V4 contradicts itself');
  });
});

describe('consistent loops', () => {
  it('two equal sources in parallel', () => {
    const point = pointOf([source('V1', 'a', 'ground', 5), source('V2', 'a', 'ground', 5), resistor('R1', 'a', 'ground', 1)], 'a');
    expectWithin(point.outputVolts, 5, 1e-12);
    expect(point.redundantRows.map(({ hasInductor }) => hasInductor)).toEqual([false]);
  });

  it('a loop of sources and a loop of inductors in one circuit are told apart', () => {
    for (const swapped of [false, true]) {
      const sources = [source('V1', 'a', 'ground', 5), source('V2', 'a', 'ground', 5)];
      const inductors = [inductor('L1', 'b', 'ground', 1), inductor('L2', 'b', 'ground', 2)];
      const point = pointOf([...(swapped ? [...inductors, ...sources] : [...sources, ...inductors]), resistor('R1', 'a', 'b', 10)], 'a');
      expect(point.redundantRows.map(({ hasInductor }) => hasInductor).sort()).toEqual([false, true]);
      // Row and unknown belong to the same loop: branches are numbered after the two nodes, in document order.
      for (const { row, unknown } of point.redundantRows) expect(Math.floor((row - 2) / 2)).toBe(Math.floor((unknown - 2) / 2));
    }
  });

  it('an input straight across an inductor: its current is 0 A', () => {
    const point = pointOf([input('a'), inductor('L1', 'a', 'ground', 1), resistor('R1', 'a', 'ground', 10)], 'a');
    expect(point.redundantRows).toEqual([{ row: 2, unknown: 2, hasInductor: true }]);
    expect(Math.abs(point.w[2]!)).toBe(0);
  });

  it('two inductors in parallel: one of them carries all', () => {
    const point = pointOf([source('V1', 's', 'ground', 10), resistor('R1', 's', 'a', 1000), inductor('L1', 'a', 'ground', 1), inductor('L2', 'a', 'ground', 2)], 'a');
    const currents = [point.w[3]!, point.w[4]!].sort();
    expectWithin(currents[0]!, 0, 0);
    expectWithin(currents[1]!, 0.01, 1e-15);
  });
});

describe('a circuit whose rounding is larger than the tolerance', () => {
  it('is found: a valve near cut-off, hundreds of volts behind a third of a megohm', () => {
    const stage = stageById('single-ended-valve');
    const values = resolveValues(stage, {
      padSeriesOhms: 30.243227935563365, padShuntOhms: 1e6, inputCouplingFarads: 1.1190367679478163e-8, gridLeakOhms: 1e7, supplyVolts: 421.93623989729184, anodeOhms: 310334.5063218043,
      cathodeOhms: 1, bypassedCathodeOhms: 43373.235463525314, mu: 10.01334086081014, perveance: 0.00016687907459343498, loadOhms: 183368.9516187085,
    });
    const document = stage.circuit(values, null)!;
    const point = findOperatingPoint(assembleCircuit(document));
    const valve = document.components.find(({ kind }) => kind === 'triode')!;
    if (valve.kind !== 'triode') throw new Error(valve.kind);
    const [anode, cathode] = [point.nodeVolts(valve.anode), point.nodeVolts(valve.cathode)];
    // One current through both resistors, and the law of the valve for it.
    const amperes = cathode / (1 + 43373.235463525314);
    expect(Math.abs((421.93623989729184 - anode) / 310334.5063218043 / amperes - 1)).toBeLessThan(1e-6);
    const drive = point.nodeVolts(valve.grid) - cathode + (anode - cathode) / 10.01334086081014;
    expect(Math.abs((0.00016687907459343498 * drive ** 1.5) / amperes - 1)).toBeLessThan(0.01);
  });
});

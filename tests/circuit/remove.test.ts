import { describe, expect, it } from 'vitest';
import { assembleCircuit, buildProgram, circuitAtRest, exactResponse, findOperatingPoint, linearised, withoutParts } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitRemoval, Component, DevicePart, RemovedDevice } from '../../dsp/circuit/index.ts';
import { defaultValues, stages } from '../../dsp/stages/index.ts';
import { capacitor, documentFile, input, parsedOf, resistor, source } from '../support/circuits.ts';

const partsOf: Partial<Record<Component['kind'], readonly DevicePart[]>> = {
  diode: [], bipolar: ['exponential', 'saturation', 'early'], 'field-effect': ['square-law', 'ohmic', 'gate', 'modulation'], triode: ['anode', 'grid'], 'tanh-transconductor': [],
  'product-transconductor': [], core: [],
};

/** Every device whole, and every part that it may have. */
const removable = ({ components }: CircuitDocument): RemovedDevice[] =>
  components.flatMap(({ kind, name }) => (partsOf[kind] ? [{ name }, ...partsOf[kind].map((part) => ({ name, part }))] : []));

const tangent = (devices: readonly RemovedDevice[]): CircuitRemoval => ({ kind: 'tangent', devices });

const frequenciesHz = [0, 20, 1000, 20e3];

/** Largest difference of a node's voltage at rest, V, and of the exact response, relative. */
function differences(before: CircuitDocument, after: CircuitDocument): { readonly volts: number; readonly response: number } {
  const [a, b] = [before, after].map((document) => {
    const system = assembleCircuit(document);
    const point = findOperatingPoint(system);
    return { system, point, response: exactResponse(system, point, frequenciesHz) };
  });
  const volts = Math.max(...a!.system.nodeNames.map((name) => Math.abs(a!.point.nodeVolts(name) - b!.point.nodeVolts(name))));
  const response = Math.max(...a!.response.map(({ re, im }, k) => {
    const other = b!.response[k]!;
    return Math.hypot(re - other.re, im - other.im) / Math.max(Math.hypot(re, im), 1e-3);
  }));
  return { volts, response };
}

/** 1e-9 V: Newton's own tolerance at rest; a millionth of the response at most: what 1e-9 V does to a junction is 4e-8 of its slope. */
function expectSame(before: CircuitDocument, after: CircuitDocument, what: string): void {
  const { volts, response } = differences(before, after);
  expect(!(volts <= 1e-9 && response <= 1e-6) ? `${what}: ${volts} V, response by ${response}` : 'same').toBe('same');
}

const stageCircuits = stages.flatMap((stage): [string, CircuitDocument][] => {
  const document = stage.circuit(defaultValues(stage), null);
  return document === null ? [] : [[stage.id, document]];
});
const files = ['five-transistor', 'push-pull', 'discrete-amplifier', 'op-amp-loop', 'one-transistor', 'transformer-core'].map((name): [string, CircuitDocument] => [name, documentFile(name)]);
/** Devices where every part of their laws acts at rest: saturated, ohmic, a positive grid. */
const strained = parsedOf([
  input('b', 'ground', 1), source('VP', 'p', 'ground', 5), source('VM', 'm', 'ground', -5),
  resistor('RB1', 'b', 'b1', 1e3), { kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c1', base: 'b1', emitter: 'ground', saturationAmperes: 1e-14, forwardBeta: 100, reverseBeta: 2, earlyVolts: 50, baseOhms: 20 },
  resistor('RC1', 'p', 'c1', 4700),
  resistor('RB2', 'm', 'b2', 33e3), { kind: 'bipolar', name: 'Q2', polarity: 'pnp', collector: 'c2', base: 'b2', emitter: 'ground', saturationAmperes: 1e-14, forwardBeta: 100, reverseBeta: 2, earlyVolts: 50, emitterCapacitanceFarads: 1e-11 },
  resistor('RC2', 'm', 'c2', 4700), resistor('RF2', 'b', 'b2', 22e3),
  resistor('RG', 'b', 'g', 1e5),
  { kind: 'field-effect', name: 'J1', channel: 'n', drain: 'd', gate: 'g', source: 'ground', thresholdVolts: -2, betaAmperesPerVolt2: 2.5e-3, lambdaPerVolt: 0.03, gateSaturationAmperes: 1e-14 }, resistor('RD', 'p', 'd', 4700),
  { kind: 'field-effect', name: 'J2', channel: 'p', drain: 'd2', gate: 'c1', source: 's2', thresholdVolts: -2, betaAmperesPerVolt2: 2.5e-3, lambdaPerVolt: 0.03, gateSaturationAmperes: 1e-14 },
  resistor('RS2', 's2', 'ground', 100), resistor('RD2', 'm', 'd2', 4700),
  resistor('RG3', 'b', 'g3', 1e3), { kind: 'triode', name: 'V1', anode: 'a', grid: 'g3', cathode: 'ground', perveance: 8.1e-4, mu: 22, gridPerveance: 3e-4 }, resistor('RA', 'p', 'a', 22e3),
  resistor('RO1', 'c1', 'out', 1e3), resistor('RO2', 'c2', 'out', 1e3), resistor('RO3', 'd', 'out', 1e3), resistor('RO4', 'd2', 'out', 1e3), resistor('RO5', 'a', 'out', 1e3),
], ['out', 'ground']);
files.push(['strained', strained]);

describe('what is taken away leaves operating point and small signals', () => {
  it.each([...stageCircuits, ...files])('%s: each device, each part of one', (id, document) => {
    const rest = circuitAtRest(document);
    for (const device of removable(document)) expectSame(document, withoutParts(rest, [tangent([device])]), `${id} ${device.name} ${device.part ?? 'whole'}`);
  });

  it.each([...stageCircuits, ...files])('%s: all devices: no ports are left', (id, document) => {
    const names = removable(document).filter(({ part }) => part === undefined).map(({ name }) => name);
    const linear = linearised(document, names);
    expectSame(document, linear, id);
    expect(buildProgram(linear, { rateHz: 384e3 }).topology.portCount).toBe(0);
  });
});

describe('taking away', () => {
  const amplifier = stageCircuits.find(([id]) => id === 'single-ended-bipolar')![1];
  const without = (document: CircuitDocument, removals: readonly CircuitRemoval[]): CircuitDocument => withoutParts(circuitAtRest(document), removals);
  const parts = (name: string, ...wanted: DevicePart[]): CircuitRemoval => tangent(wanted.map((part) => ({ name, part })));

  it('twice is once', () => {
    for (const [id, document] of stageCircuits) {
      for (const device of removable(document)) {
        const once = without(document, [tangent([device])]);
        expect(without(once, [tangent([device])]).components, `${id} ${device.name} ${device.part ?? ''}`).toEqual(once.components);
      }
    }
    const held = without(amplifier, [{ kind: 'hold', capacitors: ['CIN', 'CE'] }]);
    expect(without(held, [{ kind: 'hold', capacitors: ['CIN', 'CE'] }]).components).toEqual(held.components);
  });

  it.each<[string, string, readonly DevicePart[]]>([
    ['single-ended-bipolar', 'Q1', ['exponential', 'saturation', 'early']], ['op-amp-discrete', 'Q5', ['exponential', 'saturation', 'early']],
    ['single-ended-field-effect', 'J1', ['square-law', 'ohmic', 'gate', 'modulation']], ['single-ended-valve', 'V1', ['anode', 'grid']],
  ])('%s %s: its parts one after the other, in every order, leave nothing that bends in it', (id, name, all) => {
    const document = stageCircuits.find(([stage]) => stage === id)![1];
    const portsOfOthers = buildProgram(without(document, [tangent([{ name }])]), { rateHz: 384e3 }).topology.portCount;
    for (const order of ordersOf(all)) {
      const left = order.reduce((before, part) => without(before, [parts(name, part)]), document);
      expectSame(document, left, order.join(', '));
      expect(buildProgram(left, { rateHz: 384e3 }).topology.portCount).toBe(portsOfOthers);
      expect(new Set(left.components.map((component) => component.name)).size).toBe(left.components.length);
    }
  });

  it.each(['Q1', 'Q2', 'J1', 'J2', 'V1'])('%s where all of its law acts at rest: every order leaves rest and small signals', (name) => {
    const all = partsOf[strained.components.find((component) => component.name === name)!.kind]!;
    for (const order of ordersOf(all)) expectSame(strained, order.reduce((before, part) => without(before, [parts(name, part)]), strained), `${name} ${order.join(', ')}`);
  });

  it('says which devices there are when asked for one that is not', () => {
    expect(() => without(amplifier, [tangent([{ name: 'Q9' }])])).toThrow('"single-ended stage, bipolar": expected one of its devices (Q1), got Q9');
    expect(() => without(amplifier, [{ kind: 'hold', capacitors: ['C9'] }])).toThrow('expected one of its capacitors, got C9');
  });

  // A common emitter on 24 V with 2.2 kΩ: 1.5 V more at the divider would ask for 15 mA, 33 V across RC. Saturated, the collector stays above the emitter's 2.2 V.
  it('a transistor that cannot saturate lets its collector pass ground, one that can stops above the emitter', () => {
    const at = (document: CircuitDocument): number => findOperatingPoint(assembleCircuit(document), 1.5).nodeVolts('c');
    const directly = parsedOf([
      input('b', 'ground', 1.2), { kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-14, forwardBeta: 300, reverseBeta: 1, earlyVolts: null },
      resistor('RE', 'e', 'ground', 100), resistor('RC', 'p', 'c', 2200), source('VP', 'p', 'ground', 24),
    ], ['c', 'ground']);
    expect(at(directly)).toBeGreaterThan(1.5);
    expect(at(without(directly, [parts('Q1', 'saturation')]))).toBeLessThan(-10);
    // The straight line through the operating point, 5.3 mA there and 1/(100 Ω + kT/q/5.3 mA) of slope: 1.5 V more are 14.3 mA more (β of 300 takes a third of a hundredth).
    const straight = without(directly, [parts('Q1', 'exponential', 'saturation')]);
    const rest = findOperatingPoint(assembleCircuit(directly));
    const emitterAmperes = rest.nodeVolts('e') / 100;
    const moved = (at(straight) - rest.nodeVolts('c')) / -2200;
    expect(Math.abs(moved * (301 / 300) * (100 + 0.025865 / emitterAmperes) - 1.5)).toBeLessThan(1e-3);
  });

  it('a held capacitor keeps its voltage at rest whatever direct voltage is behind it', () => {
    const follower = parsedOf([
      input('in'), capacitor('C1', 'in', 'b', 1e-6), resistor('R1', 'p', 'b', 1e5), resistor('R2', 'b', 'ground', 1e5), source('VP', 'p', 'ground', 10),
    ], ['b', 'ground']);
    const held = without(follower, [{ kind: 'hold', capacitors: ['C1'] }]);
    expect(findOperatingPoint(assembleCircuit(follower), 1).outputVolts).toBeCloseTo(5, 9);
    expect(findOperatingPoint(assembleCircuit(held), 1).outputVolts).toBeCloseTo(6, 9);
    // Its corner is gone: the whole signal passes at 0 Hz.
    const system = assembleCircuit(held);
    expect(exactResponse(system, findOperatingPoint(system), [0])[0]!.re).toBeCloseTo(1, 9);
  });

  it('a core becomes the inductance of a small loop at its flux at rest', () => {
    const document = parsedOf([
      input('in'), resistor('R1', 'in', 'a', 100), { kind: 'core', name: 'M1', between: ['a', 'ground'], inductanceHenries: 10, rayleighHenriesPerAmpere: 1800, saturationVoltSeconds: 0.2, gapHenries: 3 },
    ], ['a', 'ground']);
    const [, , inductor] = linearised(document, ['M1']).components;
    // Core and gap beside each other: 1/(1/10 + 1/3).
    expect(inductor).toMatchObject({ kind: 'inductor', name: 'M1 tangent' });
    expect((inductor as { henries: number }).henries).toBeCloseTo(1 / (1 / 10 + 1 / 3), 12);
  });
});

function ordersOf<T>(all: readonly T[]): T[][] {
  if (all.length === 0) return [[]];
  return all.flatMap((first, k) => ordersOf(all.filter((_, other) => other !== k)).map((rest) => [first, ...rest]));
}

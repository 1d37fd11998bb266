import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { componentFields } from '../../dsp/circuit/component-fields.ts';
import { CircuitError } from '../../dsp/circuit/document-errors.ts';
import { circuitDocumentSchema } from '../../dsp/circuit/document-schema.ts';
import { parseCircuitDocument, writeCircuitDocument } from '../../dsp/circuit/document.ts';
import { documentOf, input, resistor } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';

const schemaAccepts = new Ajv2020({ allErrors: false, strict: true, allowUnionTypes: true }).compile(circuitDocumentSchema());

/** One component of every kind, with every optional field, on nodes a … d and ground. */
const everyKind: readonly Part[] = [
  { kind: 'input', name: 'IN', between: ['a', 'ground'], biasVolts: 0.774 },
  { kind: 'voltage-source', name: 'VP', between: ['b', 'ground'], volts: 0 },
  { kind: 'current-source', name: 'I1', from: 'b', to: 'c', amperes: -2e-3 },
  { kind: 'resistor', name: 'R1', between: ['a', 'b'], ohms: 47 },
  { kind: 'capacitor', name: 'C1', between: ['a', 'c'], farads: 1e-9 },
  { kind: 'inductor', name: 'L1', between: ['a', 'd'], henries: 1e-3 },
  { kind: 'coupled-inductors', name: 'T1', primary: ['a', 'b'], secondary: ['c', 'd'], primaryHenries: 10, secondaryHenries: 2.5, coupling: 0.999 },
  { kind: 'ideal-transformer', name: 'T2', primary: ['a', 'b'], secondary: ['c', 'd'], turnsRatio: 2 },
  { kind: 'diode', name: 'D1', anode: 'a', cathode: 'd', saturationAmperes: 1e-9, emissionCoefficient: 1.8 },
  {
    kind: 'bipolar', name: 'Q1', polarity: 'pnp', collector: 'a', base: 'b', emitter: 'c', saturationAmperes: 1e-14, forwardBeta: 200,
    reverseBeta: 1, earlyVolts: 100, baseOhms: 10, emitterCapacitanceFarads: 1e-11, collectorCapacitanceFarads: 4e-12,
  },
  {
    kind: 'field-effect', name: 'J1', channel: 'n', drain: 'a', gate: 'b', source: 'c', thresholdVolts: -2, betaAmperesPerVolt2: 2.5e-3,
    lambdaPerVolt: 0.01, gateSaturationAmperes: 1e-14,
  },
  { kind: 'forward-bipolar', name: 'Q2', polarity: 'npn', collector: 'a', base: 'b', emitter: 'c', saturationAmperes: 1e-14, forwardBeta: 200, earlyVolts: 100 },
  { kind: 'forward-field-effect', name: 'J2', channel: 'p', drain: 'a', gate: 'b', source: 'c', thresholdVolts: -2, betaAmperesPerVolt2: 2.5e-3, lambdaPerVolt: 0.01 },
  { kind: 'triode', name: 'V1', anode: 'a', grid: 'b', cathode: 'c', perveance: 8.1e-4, mu: 22, gridPerveance: 3e-4 },
  { kind: 'tanh-transconductor', name: 'G1', out: ['a', 'b'], in: ['c', 'd'], maxAmperes: 1e-3, scaleVolts: 0.05 },
  { kind: 'product-transconductor', name: 'G2', out: ['a', 'b'], inA: ['c', 'd'], inB: ['b', 'ground'], amperesPerVolt2: -2e-4 },
  { kind: 'core', name: 'M1', between: ['a', 'b'], inductanceHenries: 10, rayleighHenriesPerAmpere: 1800, saturationVoltSeconds: 0.2, gapHenries: 3 },
  { kind: 'amplifier', name: 'A1', out: ['d', 'ground'], in: ['a', 'b'], gain: -1e5 },
  { kind: 'transconductor', name: 'G3', out: ['a', 'ground'], in: ['b', 'c'], siemens: -2e-3 },
];
const whole = documentOf(everyKind, ['c', 'ground']);

/** The whole document with one component changed. */
function withPart(name: string, change: Part): unknown {
  return documentOf(everyKind.map((part) => (part['name'] === name ? { ...part, ...change } : part)), ['c', 'ground']);
}

/** Without one field of one component. */
function without(name: string, field: string): unknown {
  const drop = (part: Part): Part => Object.fromEntries(Object.entries(part).filter(([key]) => key !== field));
  return documentOf(everyKind.map((part) => (part['name'] === name ? drop(part) : part)), ['c', 'ground']);
}

function errorOf(value: unknown): string {
  try {
    parseCircuitDocument(value);
  } catch (error) {
    expect(error).toBeInstanceOf(CircuitError);
    return (error as CircuitError).message;
  }
  return 'no error';
}

/** JSON has no undefined and no NaN: what a file would hold. */
const asJson = (value: unknown): unknown => JSON.parse(JSON.stringify(value));

describe('a good document', () => {
  it('parses with everything in its place', () => {
    const document = parseCircuitDocument(whole);
    expect(document.components).toEqual(everyKind);
    expect(document.output).toEqual(['c', 'ground']);
    expect(schemaAccepts(whole)).toBe(true);
  });

  it('resolves what is left out', () => {
    const bare = documentOf([
      { kind: 'input', name: 'IN', between: ['b', 'ground'] },
      { kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-16, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null, transitSeconds: 0 },
      { kind: 'field-effect', name: 'J1', channel: 'p', drain: 'c', gate: 'b', source: 'e', thresholdVolts: -2, betaAmperesPerVolt2: 1e-3, lambdaPerVolt: 0 },
      { kind: 'triode', name: 'V1', anode: 'c', grid: 'b', cathode: 'e', perveance: 1e-3, mu: 20 },
    ], ['c', 'e']);
    const untitled = { ...bare };
    delete untitled['temperatureC'];
    delete untitled['title'];
    expect(schemaAccepts(untitled)).toBe(true);
    const document = parseCircuitDocument(untitled);
    expect(document.temperatureC).toBe(27);
    expect(document.title).toBe('');
    expect(document.components[0]).toMatchObject({ biasVolts: 0 });
    expect(document.components[1]).toMatchObject({ earlyVolts: null, baseOhms: 0, emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0 });
    expect(document.components[1]).not.toHaveProperty('transitSeconds');
    expect(document.components[2]).toMatchObject({ gateSaturationAmperes: null });
    expect(document.components[3]).toMatchObject({ gridPerveance: null });
  });

  it('is written so that it parses to the same, whatever order its fields had', () => {
    const text = writeCircuitDocument(parseCircuitDocument(whole));
    expect(parseCircuitDocument(JSON.parse(text))).toEqual(parseCircuitDocument(whole));
    const reversed = documentOf(everyKind.map((part) => Object.fromEntries(Object.entries(part).reverse())), ['c', 'ground']);
    expect(writeCircuitDocument(parseCircuitDocument(reversed))).toBe(text);
    expect(text.split('\n').filter((line) => line.includes('"kind"'))).toHaveLength(everyKind.length);
    expect(schemaAccepts(JSON.parse(text))).toBe(true);
  });
});

// Each bad document with the whole sentence; `schema: false` where no JSON Schema can see it.
const bad: readonly { says: string; value: unknown; schema?: false }[] = [
  { says: 'circuit document: expected an object, got [1]', value: [1] },
  { says: 'expected format "stagebench/circuit", got "stagebench/setting"', value: { ...whole, format: 'stagebench/setting' } },
  { says: 'expected version 1, got 7', value: { ...whole, version: 7 } },
  { says: 'circuit document: unknown field "outputs", expected one of format, version, title, temperatureC, components, output', value: { ...whole, outputs: 1 } },
  { says: 'expected title to be a text, got 3', value: { ...whole, title: 3 } },
  { says: 'circuit document: expected temperatureC > -273.15, got -300', value: { ...whole, temperatureC: -300 } },
  { says: 'expected components to be a list of at least one, got []', value: { ...whole, components: [] } },
  { says: 'components[0]: expected an object, got "R1"', value: { ...whole, components: ['R1'] } },
  { says: 'components[0]: expected name to be a text of at least one character, got nothing', value: { ...whole, components: [{ kind: 'resistor' }] } },
  { says: 'circuit document: expected output to be two node names, got nothing', value: { ...whole, output: undefined } },
  { says: 'R1: expected ohms > 0, got -47', value: withPart('R1', { ohms: -47 }) },
  { says: 'R1: expected ohms > 0, got 0', value: withPart('R1', { ohms: 0 }) },
  { says: 'R1: expected ohms > 0, got "47"', value: withPart('R1', { ohms: '47' }) },
  { says: 'R1: expected ohms > 0, got nothing', value: without('R1', 'ohms') },
  { says: 'R1: unknown field "ohm", expected one of kind, name, between, ohms', value: withPart('R1', { ohm: 1 }) },
  { says: 'R1: expected between to be two node names, got ["a"]', value: withPart('R1', { between: ['a'] }) },
  { says: 'R1: expected between[1] to be a node name, got 3', value: withPart('R1', { between: ['a', 3] }) },
  { says: 'D1: expected anode to be a node name, got ""', value: withPart('D1', { anode: '' }) },
  { says: 'Q1: expected polarity to be "npn" or "pnp", got "NPN"', value: withPart('Q1', { polarity: 'NPN' }) },
  { says: 'Q1: expected earlyVolts > 0, got 0', value: withPart('Q1', { earlyVolts: 0 }) },
  { says: 'Q1: expected baseOhms ≥ 0, got -1', value: withPart('Q1', { baseOhms: -1 }) },
  { says: 'Q1: expected baseOhms ≥ 0, got null', value: withPart('Q1', { baseOhms: null }) },
  {
    says: 'Q1: expected transitSeconds 0 or absent (charge stored by transit time is not computed in version 1), got 4e-10',
    value: withPart('Q1', { transitSeconds: 4e-10 }),
  },
  { says: 'T1: expected coupling ≥ 0 and ≤ 1, got 1.001', value: withPart('T1', { coupling: 1.001 }) },
  { says: 'VP: expected volts to be a finite number, got null', value: withPart('VP', { volts: null }) },
  {
    says: `L1: unknown kind "coil", expected one of ${Object.keys(componentFields).join(', ')}`,
    value: withPart('L1', { kind: 'coil' }),
  },
  { says: 'L1: unknown kind "toString"', value: withPart('L1', { kind: 'toString' }) },
  { says: 'expected at most one input, got IN and IN2', value: documentOf([...everyKind, { ...input('d'), name: 'IN2' }], ['c', 'ground']) },
  { says: 'name "R1": expected once, got components[3] (resistor) and components[19] (resistor)', schema: false, value: documentOf([...everyKind, resistor('R1', 'a', 'b', 1)], ['c', 'ground']) },
  { says: 'output: expected a node that a component touches, got "x"', schema: false, value: documentOf(everyKind, ['x', 'ground']) },
];

describe('a bad document', () => {
  it.each(bad)('$says', ({ says, value, schema }) => {
    expect(errorOf(value)).toContain(says);
    expect(schemaAccepts(asJson(value))).toBe(schema === false);
  });

  it('is refused for numbers no JSON can hold', () => {
    expect(errorOf(withPart('R1', { ohms: NaN }))).toBe('R1: expected ohms > 0, got NaN');
    expect(errorOf(withPart('VP', { volts: Infinity }))).toBe('VP: expected volts to be a finite number, got Infinity');
  });
});

describe('any change of one field', () => {
  it('is judged alike by parser and schema', () => {
    const fields = everyKind.flatMap((part) => Object.keys(part).filter((field) => field !== 'name').map((field) => [part['name'] as string, field] as const));
    const anything = fc.oneof(fc.constantFrom<unknown>(0, 1, -1, 1e300, 'a', '', 'npn', null, true, ['a', 'b'], ['a'], ['a', 'b', 'c'], {}, 0.5), fc.double({ noNaN: true, noDefaultInfinity: true }));
    fc.assert(fc.property(fc.constantFrom(...fields), anything, ([name, field], value) => {
      const changed = asJson(withPart(name, { [field]: value }));
      expect(schemaAccepts(changed)).toBe(errorOf(changed) === 'no error');
    }), { seed: 20261125, numRuns: 1500 });
  });
});

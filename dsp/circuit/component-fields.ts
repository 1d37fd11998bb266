/**
 * The fields of every component kind, in canonical order: one table that the parser, the writer and the JSON Schema all walk.
 * Terminals stand before values; the order of terminals is the order in which nodes are first mentioned.
 */
import type { Component, ComponentKind } from './components.ts';

/** Range of a number: every bound a document's number can have. */
export interface NumberRange {
  readonly above?: number;
  readonly least?: number;
  readonly most?: number;
}

export type FieldShape =
  | { readonly type: 'node' }
  | { readonly type: 'pair' }
  | { readonly type: 'number'; readonly range: NumberRange }
  | { readonly type: 'choice'; readonly of: readonly string[] }
  /** A number that this version cannot honour unless it is 0; `because` ends the sentence. Not kept after parsing. */
  | { readonly type: 'not-yet'; readonly because: string };

/** `absent`: what a missing field means; without it the field is required. A field whose `absent` is null may also be written as null. */
export type FieldRule = FieldShape & { readonly absent?: number | null };

const node: FieldRule = { type: 'node' };
const pair: FieldRule = { type: 'pair' };
const anyNumber: FieldRule = { type: 'number', range: {} };
const positive: FieldRule = { type: 'number', range: { above: 0 } };
const nonNegative: FieldRule = { type: 'number', range: { least: 0 } };
const positiveOrNull: FieldRule = { ...positive, absent: null };
const zeroUnlessGiven: FieldRule = { ...nonNegative, absent: 0 };

type FieldNames<K extends ComponentKind> = Exclude<keyof Extract<Component, { kind: K }>, 'kind' | 'name'>;
type FieldTable = { readonly [K in ComponentKind]: Readonly<Record<FieldNames<K>, FieldRule>> & Readonly<Record<string, FieldRule>> };

export const componentFields: FieldTable = {
  input: { between: pair, biasVolts: { ...anyNumber, absent: 0 } },
  'voltage-source': { between: pair, volts: anyNumber },
  'current-source': { from: node, to: node, amperes: anyNumber },
  resistor: { between: pair, ohms: positive },
  capacitor: { between: pair, farads: positive },
  inductor: { between: pair, henries: positive },
  'coupled-inductors': {
    primary: pair, secondary: pair, primaryHenries: positive, secondaryHenries: positive,
    coupling: { type: 'number', range: { least: 0, most: 1 } },
  },
  'ideal-transformer': { primary: pair, secondary: pair, turnsRatio: positive },
  diode: { anode: node, cathode: node, saturationAmperes: positive, emissionCoefficient: positive },
  bipolar: {
    polarity: { type: 'choice', of: ['npn', 'pnp'] },
    collector: node, base: node, emitter: node,
    saturationAmperes: positive, forwardBeta: positive, reverseBeta: positive, earlyVolts: positiveOrNull,
    baseOhms: zeroUnlessGiven, emitterCapacitanceFarads: zeroUnlessGiven, collectorCapacitanceFarads: zeroUnlessGiven,
    transitSeconds: { type: 'not-yet', because: 'charge stored by transit time is not computed in version 1' },
  },
  'forward-bipolar': {
    polarity: { type: 'choice', of: ['npn', 'pnp'] },
    collector: node, base: node, emitter: node, saturationAmperes: positive, forwardBeta: positive, earlyVolts: positiveOrNull,
  },
  'field-effect': {
    channel: { type: 'choice', of: ['n', 'p'] },
    drain: node, gate: node, source: node,
    thresholdVolts: anyNumber, betaAmperesPerVolt2: positive, lambdaPerVolt: nonNegative, gateSaturationAmperes: positiveOrNull,
  },
  'forward-field-effect': {
    channel: { type: 'choice', of: ['n', 'p'] },
    drain: node, gate: node, source: node, thresholdVolts: anyNumber, betaAmperesPerVolt2: positive, lambdaPerVolt: nonNegative,
  },
  triode: { anode: node, grid: node, cathode: node, perveance: positive, mu: positive, gridPerveance: positiveOrNull },
  'tanh-transconductor': { out: pair, in: pair, maxAmperes: positive, scaleVolts: positive },
  'product-transconductor': { out: pair, inA: pair, inB: pair, amperesPerVolt2: anyNumber },
  core: {
    between: pair, inductanceHenries: positive, rayleighHenriesPerAmpere: nonNegative, saturationVoltSeconds: positiveOrNull, gapHenries: positiveOrNull,
  },
  amplifier: { out: pair, in: pair, gain: anyNumber },
  transconductor: { out: pair, in: pair, siemens: anyNumber },
};

/** The nodes a component touches, in canonical order. */
export function terminalsOf(component: Component): readonly string[] {
  const values = component as unknown as Readonly<Record<string, string | readonly string[]>>;
  return Object.entries<FieldRule>(componentFields[component.kind]).flatMap(([field, rule]) =>
    rule.type === 'node' || rule.type === 'pair' ? values[field]! : []);
}

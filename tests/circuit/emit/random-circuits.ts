/** Random circuits of all kinds of parts, most of them sound: a tree of resistors gives every node a path to ground, and the rest is thrown at it. */
import fc from 'fast-check';
import { parseCircuitDocument } from '../../../dsp/circuit/document.ts';
import type { CircuitDocument } from '../../../dsp/circuit/index.ts';
import { documentOf, input, source } from '../../support/circuits.ts';
import type { Part } from '../../support/circuits.ts';

const mostNodes = 7;

/** 10^a … 10^b. */
const decades = (a: number, b: number): fc.Arbitrary<number> => fc.double({ min: a, max: b, noNaN: true }).map((exponent) => Number((10 ** exponent).toPrecision(4)));
/** A node: an index, taken modulo how many there are; 0 is ground, 1 and 2 the supplies. */
const node = fc.nat(mostNodes + 2);
const optional = (value: fc.Arbitrary<number>): fc.Arbitrary<number | null> => fc.option(value, { nil: null });

/** A part, given names of nodes and one of its own; amplifiers get a resistor at their output. */
type Wired = (nodeName: (index: number) => string, name: string) => Part;

const twoNodes = (kind: string, field: string, value: fc.Arbitrary<number>): fc.Arbitrary<Wired> =>
  fc.tuple(node, node, value).map(([a, b, amount]): Wired => (at, name) => ({ kind, name, between: [at(a), at(b === a ? b + 1 : b)], [field]: amount }));

const linearPart: fc.Arbitrary<Wired> = fc.oneof(
  { weight: 3, arbitrary: twoNodes('resistor', 'ohms', decades(1, 6)) },
  { weight: 4, arbitrary: twoNodes('capacitor', 'farads', decades(-12, -5)) },
  { weight: 1, arbitrary: twoNodes('inductor', 'henries', decades(-4, 0)) },
  {
    weight: 1,
    arbitrary: fc.tuple(node, node, node, decades(-3, 0), decades(-3, 0), fc.constantFrom(0.9, 0.999, 1)).map(([a, b, c, primary, secondary, coupling]): Wired => (at, name) => ({
      kind: 'coupled-inductors', name, primary: [at(a), at(b === a ? b + 1 : b)], secondary: [at(c), 'ground'], primaryHenries: primary, secondaryHenries: secondary, coupling,
    })),
  },
  {
    weight: 1,
    arbitrary: fc.tuple(node, node, decades(-1, 1)).map(([a, b, ratio]): Wired => (at, name) => ({ kind: 'ideal-transformer', name, primary: [at(a), 'ground'], secondary: [at(b), 'ground'], turnsRatio: ratio })),
  },
  { weight: 1, arbitrary: fc.tuple(node, node, decades(-6, -3)).map(([a, b, amperes]): Wired => (at, name) => ({ kind: 'current-source', name, from: at(a), to: at(b === a ? b + 1 : b), amperes })) },
  {
    weight: 1,
    arbitrary: fc.tuple(node, node, fc.double({ min: -20, max: 20, noNaN: true })).map(([a, b, gain]): Wired => (at, name) => ({
      kind: 'amplifier', name, out: [`${name} out`, 'ground'], in: [at(a), at(b === a ? b + 1 : b)], gain,
    })),
  },
);

const anyLinearPart: fc.Arbitrary<Wired> = fc.oneof(
  { weight: 13, arbitrary: linearPart },
  {
    weight: 1,
    arbitrary: fc.tuple(node, node, node, fc.double({ min: -1e-3, max: 1e-3, noNaN: true })).map(([a, b, c, siemens]): Wired => (at, name) => ({
      kind: 'transconductor', name, out: [at(a), 'ground'], in: [at(b), at(c === b ? c + 1 : c)], siemens,
    })),
  },
);

/** Three nodes, distinct where there are enough. */
const threeNodes = fc.tuple(node, node, node);

const devicePart: fc.Arbitrary<Wired> = fc.oneof(
  fc.tuple(node, node, decades(-16, -6), fc.double({ min: 1, max: 2, noNaN: true })).map(([a, b, saturation, emission]): Wired => (at, name) => ({
    kind: 'diode', name, anode: at(a), cathode: at(b === a ? b + 1 : b), saturationAmperes: saturation, emissionCoefficient: emission,
  })),
  fc.tuple(threeNodes, fc.boolean(), decades(-16, -12), decades(0.5, 3), decades(-1, 1), optional(decades(1, 2.5)), fc.constantFrom(0, 0, 30), fc.constantFrom(0, 0, 5e-12)).map(
    ([[c, b, e], pnp, saturation, forward, reverse, early, baseOhms, capacitance]): Wired => (at, name) => ({
      kind: 'bipolar', name, polarity: pnp ? 'pnp' : 'npn', collector: at(c), base: at(b), emitter: at(e === b ? e + 1 : e), saturationAmperes: saturation, forwardBeta: forward, reverseBeta: reverse,
      earlyVolts: early, baseOhms, emitterCapacitanceFarads: capacitance, collectorCapacitanceFarads: capacitance,
    }),
  ),
  fc.tuple(threeNodes, fc.boolean(), fc.double({ min: -3, max: 2, noNaN: true }), decades(-4, -1.5), fc.constantFrom(0, 0.01, 0.05), optional(decades(-14, -11))).map(
    ([[d, g, s], p, threshold, beta, lambda, gate]): Wired => (at, name) => ({
      kind: 'field-effect', name, drain: at(d), gate: at(g), source: at(s === d ? s + 1 : s), channel: p ? 'p' : 'n', thresholdVolts: threshold, betaAmperesPerVolt2: beta, lambdaPerVolt: lambda,
      gateSaturationAmperes: gate,
    }),
  ),
  fc.tuple(threeNodes, fc.boolean(), decades(-16, -12), decades(0.5, 3), optional(decades(1, 2.5))).map(([[c, b, e], pnp, saturation, forward, early]): Wired => (at, name) => ({
    kind: 'forward-bipolar', name, polarity: pnp ? 'pnp' : 'npn', collector: at(c), base: at(b), emitter: at(e === b ? e + 1 : e), saturationAmperes: saturation, forwardBeta: forward, earlyVolts: early,
  })),
  fc.tuple(threeNodes, fc.boolean(), fc.double({ min: -3, max: 2, noNaN: true }), decades(-4, -1.5), fc.constantFrom(0, 0.01, 0.05)).map(
    ([[d, g, s], p, threshold, beta, lambda]): Wired => (at, name) => ({
      kind: 'forward-field-effect', name, drain: at(d), gate: at(g), source: at(s === d ? s + 1 : s), channel: p ? 'p' : 'n', thresholdVolts: threshold, betaAmperesPerVolt2: beta, lambdaPerVolt: lambda,
    }),
  ),
  fc.tuple(threeNodes, decades(-5, -3), decades(0.7, 2), optional(decades(-4, -3))).map(([[a, g, k], perveance, mu, grid]): Wired => (at, name) => ({
    kind: 'triode', name, anode: at(a), grid: at(g), cathode: at(k === a ? k + 1 : k), perveance, mu, gridPerveance: grid,
  })),
  fc.tuple(threeNodes, node, decades(-5, -2), decades(-2, 0)).map(([[p, r, s], q, most, scale]): Wired => (at, name) => ({
    kind: 'tanh-transconductor', name, out: [at(p), at(q === p ? q + 1 : q)], in: [at(r), at(s === r ? s + 1 : s)], maxAmperes: most, scaleVolts: scale,
  })),
  fc.tuple(node, node, decades(-4, 1), decades(-1, 4), optional(decades(-5, 0)), optional(decades(-3, 0))).map(([a, b, henries, rayleigh, saturation, gap]): Wired => (at, name) => ({
    kind: 'core', name, between: [at(a), at(b === a ? b + 1 : b)], inductanceHenries: henries, rayleighHenriesPerAmpere: rayleigh, saturationVoltSeconds: saturation, gapHenries: gap,
  })),
  fc.tuple(threeNodes, threeNodes, decades(-6, -4), fc.boolean()).map(([[p, r, t], [q, s, u], gain, inverted]): Wired => (at, name) => ({
    kind: 'product-transconductor', name, out: [at(p), at(q === p ? q + 1 : q)], inA: [at(r), at(s === r ? s + 1 : s)], inB: [at(t), at(u === t ? u + 1 : u)],
    amperesPerVolt2: inverted ? -gain : gain,
  })),
);

/** Two emitters on a current source and nothing else: that node has no conductance of its own, so the devices' goes into the matrices. */
const idealTail = fc.oneof({ weight: 3, arbitrary: fc.constant(null) }, { weight: 1, arbitrary: fc.tuple(node, node, decades(-4, -2.5)) });

/** 1 to 4 devices (1 to 8 controls) on 3 to 7 nodes between supplies of either sign, driven through a resistor. What `buildProgram` refuses is the caller's to skip. */
export const randomCircuit: fc.Arbitrary<CircuitDocument> = fc.tuple(
  fc.integer({ min: 2, max: mostNodes }),
  fc.array(fc.tuple(fc.nat(100), decades(2, 5)), { minLength: mostNodes, maxLength: mostNodes }),
  fc.array(anyLinearPart, { minLength: 0, maxLength: 6 }),
  fc.array(devicePart, { minLength: 1, maxLength: 4 }),
  fc.double({ min: 3, max: 40, noNaN: true }),
  fc.nat(mostNodes),
  idealTail,
).map(([nodes, tree, linear, devices, supply, output, tail]) => {
  const names = ['ground', 'plus', 'minus', ...Array.from({ length: nodes }, (_, k) => `n${k}`)];
  const nodeName = (index: number): string => names[index % names.length]!;
  return parseCircuitDocument(documentOf([
    input('in'), source('VP', 'plus', 'ground', supply), source('VM', 'minus', 'ground', -supply),
    { kind: 'resistor', name: 'RIN', between: ['in', 'n0'], ohms: 1000 },
    // Each node hangs on an earlier one.
    ...Array.from({ length: nodes }, (_, k) => ({ kind: 'resistor', name: `RT${k}`, between: [`n${k}`, names[tree[k]![0] % (3 + k)]!], ohms: tree[k]![1] })),
    ...linear.flatMap((wired, k) => {
      const part = wired(nodeName, `L${k}`);
      return part['kind'] === 'amplifier' ? [part, { kind: 'resistor', name: `RL${k}`, between: [`L${k} out`, nodeName(3 + k)], ohms: 4700 }] : [part];
    }),
    ...devices.map((part, k) => part(nodeName, `D${k}`)),
    ...(tail === null ? [] : [
      ...tail.slice(0, 2).map((collector, k) => ({
        kind: 'bipolar', name: `QT${k}`, polarity: 'npn', collector: nodeName(collector), base: `n${k}`, emitter: 'tail', saturationAmperes: 1e-14, forwardBeta: 200, reverseBeta: 2, earlyVolts: 80,
      })),
      { kind: 'current-source', name: 'IT', from: 'tail', to: 'minus', amperes: tail[2] },
    ]),
  ], [`n${output % nodes}`, 'ground']));
});

// Device equations against a general-purpose circuit simulator: the one judge that could see the same slip in every solver here.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, findOperatingPoint } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { documentFile, input, parsedOf, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { simulatedSweep, simulatorIsInstalled } from '../support/netlist.ts';
import type { Sweep } from '../support/netlist.ts';

const bipolar = (more: Part): Part => ({
  kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-14, forwardBeta: 150, reverseBeta: 4, earlyVolts: 60, baseOhms: 50, ...more,
});

/** Collector swept through saturation into the reverse region, base current fixed. */
const outputCurve = (more: Part, sign: number): CircuitDocument => parsedOf([
  input('c'), source('VB', 'vb', 'ground', sign * 5), resistor('RB', 'vb', 'b', 43e3), bipolar({ ...more, collector: 'm', emitter: 'ground' }), resistor('RM', 'c', 'm', 1),
], ['c', 'm']);

const channel = (more: Part): Part => ({
  kind: 'field-effect', name: 'J1', channel: 'n', drain: 'd', gate: 'g', source: 's', thresholdVolts: -2, betaAmperesPerVolt2: 2.5e-3, lambdaPerVolt: 0.02, gateSaturationAmperes: 1e-14, ...more,
});

const valve: Part = { kind: 'triode', name: 'V1', anode: 'a', grid: 'g', cathode: 'k', perveance: 8.1e-4, mu: 22, gridPerveance: 3e-4 };

const cases: [string, CircuitDocument, Sweep][] = [
  ['npn: saturation, reverse β, Early effect', outputCurve({}, 1), { from: -2, to: 12, step: 0.125 }],
  ['pnp: the same mirrored', outputCurve({ polarity: 'pnp' }, -1), { from: -12, to: 2, step: 0.125 }],
  ['npn without Early effect or base resistance', outputCurve({ earlyVolts: null, baseOhms: 0 }, 1), { from: -1, to: 5, step: 0.125 }],
  ['npn: base swept through cut-off to saturation', parsedOf([
    input('i'), resistor('RB', 'i', 'b', 10e3), resistor('RC', 'p', 'c', 2200), resistor('RE', 'e', 'ground', 100), bipolar({}), source('VP', 'p', 'ground', 12),
  ], ['c', 'ground']), { from: -3, to: 6, step: 0.125 }],
  ['n-channel: ohmic region, reversed drain, λ', parsedOf([
    input('i'), resistor('RD', 'i', 'd', 10), source('VG', 'g', 'ground', -0.6), channel({ source: 'ground' }),
  ], ['i', 'd']), { from: -0.9, to: 12, step: 0.125 }],
  ['p-channel: gate swept into conduction', parsedOf([
    input('i'), resistor('RG', 'i', 'g', 100e3), resistor('RD', 'm', 'd', 2200), resistor('RS', 's', 'ground', 100), channel({ channel: 'p' }), source('VM', 'm', 'ground', -15),
  ], ['d', 'ground']), { from: -4, to: 5, step: 0.125 }],
  ['triode: cut-off to grid current', parsedOf([
    input('i'), resistor('RG', 'i', 'g', 47e3), resistor('RA', 'p', 'a', 22e3), resistor('RK', 'k', 'ground', 470), valve, source('VP', 'p', 'ground', 250),
  ], ['a', 'ground']), { from: -25, to: 15, step: 0.5 }],
  ['diodes about a source', parsedOf([
    input('i'), resistor('R1', 'i', 'a', 1000), { kind: 'diode', name: 'D1', anode: 'a', cathode: 'ground', saturationAmperes: 2e-9, emissionCoefficient: 1.8 },
    { kind: 'diode', name: 'D2', anode: 'h', cathode: 'a', saturationAmperes: 1e-14, emissionCoefficient: 1 }, source('VH', 'h', 'ground', -1.5),
  ], ['a', 'ground']), { from: -5, to: 5, step: 0.125 }],
  ['tanh transconductor in a loop with an amplifier', parsedOf([
    input('i'), { kind: 'tanh-transconductor', name: 'G1', out: ['c', 'ground'], in: ['i', 'f'], maxAmperes: 1e-3, scaleVolts: 0.052 }, resistor('RC', 'c', 'ground', 100e3),
    { kind: 'amplifier', name: 'A1', out: ['o', 'ground'], in: ['c', 'ground'], gain: 0.25 }, resistor('R1', 'o', 'f', 10e3), resistor('R2', 'f', 'ground', 10e3),
  ], ['o', 'ground']), { from: -14, to: 14, step: 0.25 }],
  ['discrete amplifier: six transistors in a loop', documentFile('discrete-amplifier'), { from: -5, to: 8, step: 0.5 }],
  ['bipolar pair of followers, ±18 V', documentFile('push-pull'), { from: -20, to: 20, step: 0.5 }],
];

describe.skipIf(!simulatorIsInstalled())('direct-current sweeps in a general-purpose circuit simulator', () => {
  it.each(cases)('%s', (_, document, sweep) => {
    const system = assembleCircuit(document);
    const points = simulatedSweep(document, sweep);
    expect(points.length).toBe(Math.round((sweep.to - sweep.from) / sweep.step) + 1);
    const ours = points.map(({ input: at }) => findOperatingPoint(system, at).outputVolts);
    const span = Math.max(...ours) - Math.min(...ours);
    expect(span).toBeGreaterThan(1e-3);
    // Its k/q is that of an older table of constants (2e-6 of a junction's voltage), its triode has no toe: 1e-5 of the curve's span.
    const lines = points.flatMap(({ input: at, output }, index) => (!(Math.abs(ours[index]! - output) <= 1e-5 * span) ? [`at ${at} V: ${ours[index]}, simulator ${output}, span ${span}`] : []));
    expect(lines).toEqual([]);
  });
});

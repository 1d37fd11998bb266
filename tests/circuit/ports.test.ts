// Which control voltages are one: found from the wiring, and solved as one without a change of the answer.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildProgram, CircuitRunner, measuringTolerance } from '../../dsp/circuit/index.ts';
import { buildProgramWithPorts } from '../../dsp/circuit/build-program.ts';
import { denseEquations } from '../../dsp/circuit/discrete-response.ts';
import { separatePorts } from '../../dsp/circuit/ports.ts';
import type { CircuitDocument, CircuitProgram } from '../../dsp/circuit/index.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { DirectSolution } from '../support/direct-solution.ts';
import { bipolar, commonEmitter, expectWithin, idealTailPair, largestDifference, opAmpLoop, pushPull, rateHz } from './support.ts';

const seed = 20261125;

const diode = (name: string, anode: string, cathode: string): Part => ({ kind: 'diode', name, anode, cathode, saturationAmperes: 1e-14, emissionCoefficient: 1 });

/** Both bases of the pair tied by ideal sources, its collectors on ideal rails, and without base resistance. */
const tiedPair = (document: CircuitDocument): CircuitDocument =>
  ({ ...document, components: document.components.map((part) => (part.kind === 'bipolar' ? { ...part, baseOhms: 0 } : part)) });

/** The drive held within ±3.6 V by diodes from the bases to ideal sources. */
const clamped = (document: CircuitDocument): CircuitDocument => ({
  ...document,
  components: [
    ...document.components,
    ...parsedOf([
      input('x'), diode('D1', 'b1', 'up'), diode('D2', 'down', 'b2'), source('VU', 'up', 'ground', 3), source('VD', 'down', 'ground', -3),
    ], ['b1', 'b2']).components.filter(({ kind }) => kind !== 'input'),
  ],
});

const limitedPair = clamped(tiedPair(pushPull()));

/** Two transistors on an ideal tail whose collectors are the same node through an ideal source: shifted, and with controls to merge. */
function idealTailFollowers(): CircuitDocument {
  const ideal = { forwardBeta: 1e9, earlyVolts: null };
  return parsedOf([
    input('in'), resistor('RS', 'in', 'b', 100), source('VS', 'b2', 'b', 0.01),
    bipolar('Q1', 'npn', ['vcc', 'b', 'e'], ideal), bipolar('Q2', 'npn', ['out', 'b2', 'e'], ideal),
    { kind: 'current-source', name: 'IT', from: 'e', to: 'vee', amperes: 1e-3 }, source('VEE', 'vee', 'ground', -15),
    resistor('RC', 'vcc', 'out', 5000), source('VCC', 'vcc', 'ground', 15), capacitor('CD', 'out', 'ground', 100e-12),
  ], ['out', 'ground']);
}

/** D1 and D2 lie between ideal sources and never move, D3 clips. */
function heldDiodes(): CircuitDocument {
  return parsedOf([
    input('in'), source('V1', 'x', 'ground', 0.6), source('V2', 'y', 'x', 0.05), diode('D1', 'x', 'ground'), diode('D2', 'y', 'ground'),
    resistor('R1', 'in', 'out', 1000), diode('D3', 'out', 'ground'), capacitor('C1', 'out', 'ground', 1e-9),
  ], ['out', 'ground']);
}

const run = (program: CircuitProgram, wave: Float64Array): Float64Array => {
  const out = wave.slice();
  new CircuitRunner(program, 1, measuringTolerance).process([out], 0, out.length);
  return out;
};

describe('ports', () => {
  it.each([
    ['common emitter with its capacitors', commonEmitter(), [0, 1], [1, 1]],
    ['pair with base resistances', pushPull(), [0, 1, 2, 3], [1, 1, 1, 1]],
    ['symmetric pair, bases tied', tiedPair(pushPull()), [0, 1, 2, 1], [1, 1, 1, -1]],
    ['symmetric pair with clamps', limitedPair, [0, 1, 2, 1, 1, 1], [1, 1, 1, -1, 1, -1]],
    ['pair with clamps and base resistances', clamped(pushPull()), [0, 1, 2, 3, 4, 4], [1, 1, 1, 1, 1, -1]],
    ['pair on an ideal tail', idealTailPair(), [0, 1, 2, 3], [1, 1, 1, 1]],
    ['op-amp loop', opAmpLoop(), [0, 1, 2, 3, 4], [1, 1, 1, 1, 1]],
    ['diodes between ideal sources', heldDiodes(), [0, 0, 1], [1, 1, 1]],
  ] as const)('%s', (_, document, ports, signs) => {
    const { controlPorts, controlSigns, portCount } = buildProgram(document, { rateHz }).topology;
    expect([...controlPorts]).toEqual([...ports]);
    expect([...controlSigns]).toEqual([...signs]);
    expect(portCount).toBe(Math.max(...ports) + 1);
  });

  it('are found in a circuit whose devices are partly in the matrix', () => {
    const { shifted, controlPorts } = buildProgram(idealTailFollowers(), { rateHz }).topology;
    expect(shifted).toBe(true);
    // Both base–emitter voltages differ by the ideal source.
    expect(controlPorts[2]).toBe(controlPorts[0]);
  });

  it('of constant controls have no coefficients, although the nodes move', () => {
    // D1 spans an ideal source that rides on the signal through a divider of odd values: each node's row is rounded by itself.
    const program = buildProgram(parsedOf([
      input('in'), resistor('R1', 'in', 'm', 1234.5), resistor('R2', 'm', 'ground', 678.9), capacitor('C1', 'top', 'ground', 3.3e-9), resistor('R3', 'top', 'out', 91.7),
      source('V1', 'top', 'm', 0.3), source('V2', 'far', 'top', 0.1), diode('D1', 'far', 'm'), resistor('R4', 'out', 'ground', 4321), diode('D2', 'out', 'ground'),
    ], ['out', 'ground']), { rateHz });
    const { portCount, portRows, feedbackRows } = program.topology;
    expect(portCount).toBe(2);
    expect([...program.instances[0]!.portCoefficients.subarray(0, portRows.starts[1])]).toEqual([0]);
    expect(feedbackRows.starts[1]).toBe(0);
  });

  it('write out all controls again', () => {
    const merged = denseEquations(buildProgram(limitedPair, { rateHz }));
    const full = denseEquations(buildProgramWithPorts(limitedPair, { rateHz }, separatePorts));
    expect(merged.portCount).toBe(6);
    for (const rows of ['portConstant', 'portInput', 'portMemory', 'portCurrent'] as const) {
      const largest = Math.max(1, ...full[rows].map(Math.abs));
      full[rows].forEach((value, at) => expectWithin(merged[rows][at]!, value, 1e-12 * largest, `${rows} ${at}`));
    }
  });

  it('of constant controls keep their currents', () => {
    // 0.6 V and 0.65 V across 1e-14 A diodes feed only ideal sources; the clipper's own DC at 0.5 V in is what D3 alone gives.
    const held = run(buildProgram(heldDiodes(), { rateHz }), new Float64Array(4000).fill(2));
    const direct = new DirectSolution(heldDiodes(), { rate: rateHz }).rest().run(400, () => 2);
    expectWithin(held[3999]!, direct[399]!, 1e-9);
    const alone = parsedOf([input('in'), source('V1', 'x', 'ground', 0.6), diode('D1', 'x', 'ground'), resistor('R1', 'in', 'out', 1000), resistor('R2', 'out', 'ground', 1000)], ['out', 'ground']);
    const program = buildProgram(alone, { rateHz });
    expect(program.topology.portCount).toBe(1);
    expectWithin(run(program, Float64Array.of(1, 2))[1]!, 1, 1e-12);
  });
});

/** Full-scale stress of the rescue, and music-like noise. */
const signals: readonly (readonly [string, (k: number, random: SeededRandom) => number])[] = [
  ['20 V square, 1 kHz', (k) => (k % 384 < 192 ? 20 : -20)],
  ['20 V square, 19 samples', (k) => (k % 19 < 9 ? 20 : -20)],
  ['full-scale noise at the internal rate', (_, random) => 17.36 * (2 * random.nextUnit() - 1)],
  ['sine 40 dB over line level', (k) => 173.6 * Math.sin(k / 61)],
  ['line level', (k, random) => 1.7 * Math.sin(k / 61) + 0.01 * random.nextGaussian()],
];

describe.each([
  ['pair', tiedPair(pushPull())], ['pair near class B', tiedPair(pushPull(50e-6, false))], ['pair with clamps', limitedPair],
  ['pair with clamps and base resistances', clamped(pushPull())], ['pair on an ideal tail with tied bases', idealTailFollowers()], ['held diodes', heldDiodes()],
] as const)('merged equals unmerged: %s', (_, document) => {
  const merged = buildProgram(document, { rateHz });
  const full = buildProgramWithPorts(document, { rateHz }, separatePorts);

  it.each(signals)('%s', (_signal, signal) => {
    expect(merged.topology.portCount).toBeLessThan(full.topology.portCount);
    expect(full.topology.portCount).toBe(full.topology.controlCount);
    const random = new SeededRandom(seed);
    const wave = Float64Array.from({ length: 1500 }, (_entry, k) => signal(k, random));
    const expected = run(full, wave);
    const peak = Math.max(...expected.map(Math.abs));
    expect(peak).toBeGreaterThan(0.1);
    // Both stop at 1e-6 of a scale, from other steps where these are limited: their currents are then right to half its square.
    expect(largestDifference(run(merged, wave), expected) / peak).toBeLessThan(1e-9);
  });
});

describe('random networks of sources, resistors, diodes and transistors', () => {
  /** A chain of nodes, each tied to the one before by a resistor or an ideal source, with junctions thrown across; none lies directly across volts. */
  const network = fc.record({
    links: fc.array(fc.record({ volts: fc.option(fc.double({ min: -0.12, max: 0.12, noNaN: true }), { nil: null }), ohms: fc.double({ min: 50, max: 5000, noNaN: true }) }), { minLength: 2, maxLength: 5 }),
    diodes: fc.array(fc.tuple(fc.nat(5), fc.nat(6)), { minLength: 1, maxLength: 3 }),
    transistors: fc.array(fc.tuple(fc.boolean(), fc.nat(5), fc.boolean()), { maxLength: 2 }),
  });

  it('are solved as the direct solution solves them', () => {
    let merges = 0;
    fc.assert(fc.property(network, ({ links, diodes, transistors }) => {
      const link = (k: number): string => `n${1 + (k % links.length)}`;
      const parts: Part[] = [
        input('n0'), source('VH', 'high', 'ground', 5), source('VL', 'low', 'ground', -5), resistor('RL', 'load', 'ground', 1000), resistor('RX', 'load', 'high', 4700),
        ...links.flatMap(({ volts, ohms }, k) => [
          volts === null || k === 0 ? resistor(`R${k}`, `n${k}`, `n${k + 1}`, ohms) : source(`V${k}`, `n${k}`, `n${k + 1}`, volts),
          resistor(`G${k}`, `n${k + 1}`, 'ground', 2 * ohms),
        ]),
        ...diodes.filter(([a, c]) => c === 6 || link(a) !== link(c)).map(([a, c], k) => diode(`D${k}`, link(a), c === 6 ? 'ground' : link(c))),
        ...transistors.map(([npn, base, loaded], k) => bipolar(`Q${k}`, npn ? 'npn' : 'pnp', [loaded ? 'load' : npn ? 'high' : 'low', link(base), `e${k}`])),
        ...transistors.map((_entry, k) => resistor(`E${k}`, `e${k}`, 'ground', 470)),
      ];
      const document = parsedOf(parts, [`n${links.length}`, 'ground']);
      const program = buildProgram(document, { rateHz });
      if (program.topology.portCount < program.topology.controlCount) merges += 1;
      // Without memory the two must agree sample by sample: what is left is where each stops.
      const wave = Float64Array.from({ length: 60 }, (_entry, k) => 3 * Math.sin((k + 1) / 5));
      const direct = new DirectSolution(document, { rate: rateHz, substeps: 1 }).rest().run(60, (t) => 3 * Math.sin((t * rateHz) / 5));
      expect(largestDifference(run(program, wave), direct)).toBeLessThan(1e-8);
    }), { seed, numRuns: 60 });
    expect(merges).toBeGreaterThan(20);
  });
});

/** How one stage loads another: the declared output network is the linearised circuit's impedance, and the next circuit begins with it. */
import { describe, expect, it } from 'vitest';
import { assembleCircuit, exactResponse, findOperatingPoint, outputImpedance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, Complex } from '../../dsp/circuit/index.ts';
import { defaultValues, stageById, stages } from '../../dsp/stages/index.ts';
import type { OutputNetwork, StageValues } from '../../dsp/stages/index.ts';

const frequencies = [100, 1000, 10_000];
const circuits = stages.filter((stage) => stage.drawing !== null).map((stage) => ({ id: stage.id, stage }));

function impedances(document: CircuitDocument, hz: readonly number[]): Complex[] {
  const system = assembleCircuit(document);
  return outputImpedance(system, findOperatingPoint(system), hz);
}

/** The network alone, its driven end at an input source. */
function networkDocument(network: OutputNetwork): CircuitDocument {
  return {
    title: 'network', temperatureC: 27, output: [network.to, 'ground'],
    components: [{ kind: 'input', name: 'E', between: [network.from, 'ground'], biasVolts: 0 }, ...network.components],
  };
}

const distance = (a: Complex, b: Complex): number => Math.hypot(a.re - b.re, a.im - b.im);

const given: Readonly<Record<string, readonly StageValues[]>> = {
  'single-ended-bipolar': [{}, { collectorOhms: 4700, upperDividerOhms: 68e3 }, { earlyVolts: 20, loadOhms: 1e6 }, { outputCouplingFarads: 1e-6, loadOhms: 600 }],
  'single-ended-field-effect': [{}, { lambdaPerVolt: 0.05, drainOhms: 4700 }, { loadFarads: 10e-9 }],
  'single-ended-valve': [{}, { anodeOhms: 100e3 }, { mu: 70, perveance: 3e-4 }, { cathodeOhms: 1000 }],
  'equaliser-bell': [{}, { potPosition: 0, armOhms: 22e3 }, { gainBandwidthHz: 1e6, buildOutOhms: 22 }, { loadOhms: 600 }],
  'transformer-output': [{}, { damper: 'off', lineMetres: 300 }, { turnsRatio: 4, loadOhms: 600 }, { gap: 'gapped', primaryHenries: 1, gapHenries: 0.5 }],
  'transformer-input': [{}, { turnsRatio: 10, loadOhms: 600 }, { damper: 'on', sourceOhms: 50 }],
  line: [{}, { driving: 'direct' }, { driving: 'direct-same-resistance', lineMetres: 1000 }, { driving: 'transformer' }, { driving: 'transformer', damper: 'on', loadOhms: 600 }],
  'equaliser-shelf': [{}, { lowPosition: 1, highPosition: 0 }, { loadOhms: 600, buildOutOhms: 10 }],
  'equaliser-inductor': [{}, { potPosition: 0.1, coilHenries: 0.1 }, { gainBandwidthHz: 2e6 }],
  'op-amp-discrete': [{}, { buildOutOhms: 1, loadOhms: 1e5 }, { connection: 'inverting', gainOhms: 1000 }, { outputKind: 'complementary', idleAmperes: 2e-3, buildOutOhms: 0.5 }],
  'op-amp-integrated': [{}, { buildOutOhms: 50 }, { connection: 'inverting', feedbackOhms: 10e3 }, { quiescentAmperes: 20e-6, loadOhms: 10e3 }],
  'line-amplifier': [{}, { feedbackOhms: 68e3, loadOhms: 1e4 }, { secondaryOhms: 50, leakageHenries: 1e-4, gapHenries: 3 }, { compensationFarads: 100e-9 }],
  'microphone-input': [{}, { gainDb: 60, microphoneDbu: -56 }, { input: 'transformer' }, { input: 'transformer', gainDb: 25, microphoneDbu: -20 }],
  'summing-bus': [{}, { sources: 64, loadOhms: 600 }, { sources: 2, buildOutOhms: 10 }],
  'push-pull': [{}, { quiescentAmperes: 50e-6 }, { quiescentAmperes: 15e-3, driverOhms: 2000 }, { forwardBeta: 40, driverOhms: 1000, betaRatio: 0.5 }, { loadOhms: 50 }],
};

describe.each(circuits)('$id', ({ id, stage }) => {
  it.each(given[id]!.map((values) => ({ values })))('declares its output impedance within 5 %: $values', ({ values }) => {
    const full = { ...defaultValues(stage), ...values };
    const network = stage.outputNetwork(full)!;
    const real = impedances(stage.circuit(full, null)!, frequencies);
    impedances(networkDocument(network), frequencies).forEach((declared, k) => {
      const error = distance(declared, real[k]!) / Math.hypot(real[k]!.re, real[k]!.im);
      if (!(error <= 0.05)) throw new Error(`${frequencies[k]} Hz: declared ${declared.re} ${declared.im}j, circuit ${real[k]!.re} ${real[k]!.im}j, off by ${error}`);
    });
  });

  it('hands on passive linear parts that do not touch ground', () => {
    const network = stage.outputNetwork(defaultValues(stage))!;
    for (const component of network.components) {
      expect(['resistor', 'capacitor', 'inductor']).toContain(component.kind);
      expect((component as { between: readonly string[] }).between).not.toContain('ground');
    }
  });

  it.each(circuits.map((before) => ({ before: before.id })))('begins with the network of $before, prefixed, between the ideal input and its own parts', ({ before }) => {
    const previous = stageById(before);
    const network = previous.outputNetwork(defaultValues(previous))!;
    const alone = stage.circuit(defaultValues(stage), null)!;
    const loaded = stage.circuit(defaultValues(stage), network)!;
    const added = loaded.components.filter((component) => !alone.components.some((own) => own.name === component.name));
    expect(added.map((component) => component.name)).toEqual(network.components.map((component) => `previous ${component.name}`));
    expect(loaded.components[0]).toEqual(alone.components[0]);
    // Its own parts are the same but for the node where the first of them hangs.
    const moved = loaded.components.filter((component) => alone.components.some((own) => own.name === component.name && JSON.stringify(own) !== JSON.stringify(component)));
    expect(moved.length).toBe(1);
    // The source's impedance and the stage's input impedance divide the level.
    const gain = (document: CircuitDocument): Complex => {
      const system = assembleCircuit(document);
      return exactResponse(system, findOperatingPoint(system), [1000])[0]!;
    };
    const system = assembleCircuit(alone);
    const [source] = impedances(networkDocument(network), [1000]);
    const input = inputOhms(system);
    const expected = times(gain(alone), over(input, { re: input.re + source!.re, im: input.im + source!.im }));
    expect(distance(gain(loaded), expected) / Math.hypot(expected.re, expected.im)).toBeLessThan(0.02);
  });

  it('stands at an ideal source when there is no network, or an empty one', () => {
    const values = defaultValues(stage);
    expect(stage.circuit(values, { from: 'a', to: 'a', components: [] })).toEqual(stage.circuit(values, null));
  });
});

const times = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
const over = (a: Complex, b: Complex): Complex => times(a, { re: b.re / (b.re * b.re + b.im * b.im), im: -b.im / (b.re * b.re + b.im * b.im) });

/** Input impedance at 1 kHz by the change of gain behind a known resistor: independent of the circuit core's own. */
function inputOhms(system: ReturnType<typeof assembleCircuit>): Complex {
  const stage = circuits.find((candidate) => system.title === candidate.stage.circuit(defaultValues(candidate.stage), null)!.title)!.stage;
  const gainBehind = (ohms: number): Complex => {
    const network: OutputNetwork = { from: 'e', to: 'o', components: [{ kind: 'resistor', name: 'R', between: ['e', 'o'], ohms }] };
    const behind = assembleCircuit(stage.circuit(defaultValues(stage), network)!);
    return exactResponse(behind, findOperatingPoint(behind), [1000])[0]!;
  };
  // The gain behind R falls as Z / (Z + R).
  const ratio = over(gainBehind(1), gainBehind(1001));
  return over({ re: 1001 - ratio.re, im: -ratio.im }, { re: ratio.re - 1, im: ratio.im });
}

it('a stage that is no circuit hands on an ideal source', () => {
  const shaping = stageById('harmonic-shaping');
  expect(shaping.outputNetwork(defaultValues(shaping))).toBeNull();
  expect(shaping.circuit(defaultValues(shaping), null)).toBeNull();
});

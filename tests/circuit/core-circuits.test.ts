/** Cores in circuits: the output transformer's figures, saturation, direct current, what a change of values carries over, and steady states. */
import { describe, expect, it } from 'vitest';
import {
  assembleCircuit, buildProgram, CircuitError, CircuitRunner, chooseFrequency, cosineDrive, discreteResponse, exactResponse, findOperatingPoint, inputImpedance, measuringTolerance,
  runnerBytes, solveSteadyState, steadyHarmonics,
} from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram, IntegrationRule, SteadyState } from '../../dsp/circuit/index.ts';
import { coreHead, coreHistoryLength } from '../../dsp/circuit/core-law.ts';
import { LoopInstance } from '../../dsp/circuit/loop-instance.ts';
import { createCodeMemory } from '../../dsp/webassembly/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { capacitor, documentFile, input, parsedOf, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { compareBackEnds } from './emit/compare-back-ends.ts';
import { unlikeChannels } from './emit/signals.ts';
import { expectWithin, largestDifference } from './support.ts';

installCompiledCode();
const seed = 20261125;
/** Cores work at low frequencies: the steps of the base rate are fine enough. */
const rateHz = 48_000;

const core = (a: string, b: string, more: Part = {}): Part => ({
  kind: 'core', name: 'T', between: [a, b], inductanceHenries: 10, rayleighHenriesPerAmpere: 1800, saturationVoltSeconds: 0.2, gapHenries: null, ...more,
});
/** 68 Ω of driver and build-out, 50 Ω of primary. */
const primary = (more: Part = {}, ohms = 118): CircuitDocument => parsedOf([input('in'), resistor('R', 'in', 'p', ohms), core('p', 'ground', more)], ['p', 'ground']);

const peakOf = (dbu: number): number => Math.sqrt(1.2) * 10 ** (dbu / 20);
const db = (ratio: number): number => 20 * Math.log10(ratio);

function steadyAt(program: CircuitProgram, hz: number, dbu: number, warmStart?: SteadyState): { readonly steady: SteadyState; readonly db: readonly number[] } {
  const frequency = chooseFrequency(hz, program.rateHz);
  const steady = solveSteadyState(program, { input: cosineDrive(frequency, peakOf(dbu)), cycles: frequency.cycles }, warmStart === undefined ? {} : { warmStart });
  expect(steady.oscillates).toBe(false);
  const { amplitudes } = steadyHarmonics(steady, frequency.cycles, [1, 2, 3, 5, 7]);
  return { steady, db: [...amplitudes].map((amplitude) => db(amplitude / amplitudes[0]!)) };
}

/** Of the figures' orders. */
const [second, third, fifth] = [1, 2, 3];

describe('an output transformer of 10 H behind 118 Ω', () => {
  const program = buildProgram(primary(), { rateHz });

  it.each([[20, -59], [50, -72], [1000, -122]] as const)('core H3 at +4 dBu, %d Hz: %d dB', (hz, expected) => {
    const { steady, db: orders } = steadyAt(program, hz, 4);
    expect(steady.method).toBe('shooting');
    expect(steady.capHits).toBe(0);
    expectWithin(orders[third]!, expected, 0.5);
    // 16 to 17 dB below H3.
    expectWithin(orders[third]! - orders[fifth]!, 16.5, 0.5);
    // Odd-symmetric: nothing even.
    expect(orders[second]).toBeLessThan(-150);
  });

  it('while small: H3 rises 1 dB a dB, and falls 12 dB an octave at constant voltage', () => {
    const at = (hz: number, dbu: number): number => steadyAt(program, hz, dbu).db[third]!;
    // η 0.003 and below: what is left of the next order is 0.08 dB a factor of two, and half of it each time; 6 dB is a factor of 1.995.
    for (const dbu of [-26, -32, -38]) expectWithin(at(50, dbu) - at(50, dbu - 6), 6, 0.05);
    for (const hz of [200, 400]) expectWithin(at(hz, -20) - at(2 * hz, -20), 12.04, 0.06);
  });

  it('saturates where its flux comes to 0.2 Vs: +27 dBu at 20 Hz', () => {
    const [below, at, above] = [21, 27, 30].map((dbu) => steadyAt(program, 20, dbu).db[third]!) as [number, number, number];
    // Rayleigh alone gives 4/15π of η at most: −50 dB with these ohms. Then the ninth power takes over.
    expect(below).toBeLessThan(-50);
    expect(at).toBeGreaterThan(-35);
    expect(above).toBeGreaterThan(-20);
  });

  it('a level has the same figures whatever was measured before', () => {
    const alone = steadyAt(program, 30, 4);
    const afterLouder = steadyAt(program, 30, 4, steadyAt(program, 30, 24).steady);
    const afterQuieter = steadyAt(program, 30, 4, steadyAt(program, 30, -10).steady);
    for (const found of [afterLouder, afterQuieter]) {
      expectWithin(found.db[third]!, alone.db[third]!, 1e-4);
      expect(found.db[second]).toBeLessThan(-150);
    }
  });

  it('the steady state is what a tone comes to that is raised slowly', () => {
    const { steady, db: orders } = steadyAt(program, 50, 20);
    const runner = new CircuitRunner(program, 1, measuringTolerance);
    const frequency = chooseFrequency(50, rateHz);
    const period = cosineDrive(frequency, peakOf(20));
    let last = new Float64Array(0);
    for (let k = 0; k < 120; k += 1) {
      last = period.map((volts) => volts * Math.min(1, (k + 1) / 60));
      runner.process([last], 0, last.length);
    }
    expectWithin(largestDifference(last, steady.output), 0, 1e-4 * peakOf(20));
    const { amplitudes } = steadyHarmonics({ output: last, instances: [] }, frequency.cycles, [1, 3]);
    expectWithin(db(amplitudes[1]! / amplitudes[0]!), orders[third]!, 0.01);
  });
});

describe('rules', () => {
  it('a circuit with a core takes plain steps, whatever pair of runs was asked for, and its grade chooses among them', () => {
    const rules = (['T1', 'T12', 'T24', 'S1', 'S2', 'S4'] as const).map((rule) => buildProgram(primary(), { rateHz, rule }));
    expect(rules.map(({ rule }) => rule)).toEqual(['S1', 'S2', 'S4', 'S1', 'S2', 'S4']);
    expect(rules.map(({ instances }) => instances.map(({ subSteps }) => subSteps))).toEqual([[1], [2], [4], [1], [2], [4]]);
    const withoutCore = documentFile('one-transistor');
    expect((['S1', 'S2', 'S4'] as const).map((rule) => buildProgram(withoutCore, { rateHz, rule }).rule)).toEqual(['T1', 'T12', 'T24']);
    const { rule, ruleChoice } = buildProgram(documentFile('transformer-core'), { rateHz: 384_000, rule: 'listening' });
    expect(rule).toBe('S2');
    expect(ruleChoice!.errorDb).toBeLessThan(0.05);
  });

  it.each(['S1', 'S2', 'S4'] as const)('%s: the output is that of the last step of each sample, compiled and not', (rule) => {
    const program = buildProgram(documentFile('transformer-core'), { rateHz, rule });
    const { subSteps } = program.instances[0]!;
    const frames = 700;
    const wave = Float64Array.from({ length: frames }, (_, n) => 20 * Math.sin(n * 0.011) * Math.sin(n * 0.4));
    const memory = createCodeMemory(runnerBytes(program, 1) + 8 * frames)!;
    const runners = [new CircuitRunner(program, 1), new CircuitRunner(program, 1, undefined, { memory, arena: memory.arena })];
    const outputs = runners.map((runner) => {
      const buffer = wave.slice();
      runner.process([buffer], 0, 300);
      runner.process([buffer], 300, frames - 300);
      return buffer;
    });
    expect(outputs[1]).toEqual(outputs[0]);
    // A cubic through the inputs at each step; here where the input is one: exactly in between.
    const cubic = Float64Array.from({ length: frames }, (_, n) => 1e-9 * n ** 3 - 2e-6 * n * n);
    const steps = Float64Array.from({ length: frames * subSteps }, (_, k) => { const n = (k + 1) / subSteps - 1; return 1e-9 * n ** 3 - 2e-6 * n * n; });
    const instance = new LoopInstance(program, 0, 1, 1e-4);
    instance.process([steps], 0, steps.length);
    new CircuitRunner(program, 1).process([cubic], 0, frames);
    // The first three samples know no inputs before them, and the start is two half steps; both die away with the circuit.
    for (let n = 400; n < frames; n += 1) expectWithin(cubic[n]!, steps[subSteps * n + subSteps - 1]!, 1e-6, `sample ${n}`);
  });
});

describe('direct current', () => {
  const biased = (more: Part, amperes = 0.01): CircuitDocument => parsedOf([
    input('in'), capacitor('CI', 'in', 'b', 1e-4), resistor('RI', 'b', 'c', 1000), source('VB', 'vb', 'ground', 24), core('vb', 'c', more),
    { kind: 'current-source', name: 'I', from: 'c', to: 'ground', amperes },
  ], ['c', 'ground']);

  it('brings the core to its flux on the initial curve', () => {
    for (const [more, amperes] of [[{}, 0.003], [{ gapHenries: 0.8 }, 0.01], [{ saturationVoltSeconds: null }, -0.02], [{}, 2], [{ rayleighHenriesPerAmpere: 0, saturationVoltSeconds: null }, 0.01]] as const) {
      const point = findOperatingPoint(assembleCircuit(biased(more, amperes)));
      expectWithin(point.currents[0]!, amperes, 1e-9 * Math.abs(amperes));
      const flux = point.controls[0]!;
      const saturation: number | null = 'saturationVoltSeconds' in more ? null : 0.2;
      const rayleigh = 'rayleighHenriesPerAmpere' in more ? 0 : 1800;
      const small = rayleigh === 0 ? flux / 10 : Math.sign(flux) * (Math.sqrt(100 + 4 * rayleigh * Math.abs(flux)) - 10) / (2 * rayleigh);
      const x = saturation === null ? 0 : flux / saturation;
      const straight = 10 ** 0.25;
      // Slope 10/L0 at λs: i = λs/9 · x⁹, straight on from 1.78 λs.
      const saturating = Math.abs(x) < straight ? (0.2 / 9) * x ** 9 : Math.sign(x) * ((0.2 / 9) * straight ** 9 + 100 * 0.2 * (Math.abs(x) - straight));
      expectWithin(small + saturating + ('gapHenries' in more ? flux / 0.8 : 0), amperes, 1e-9 * Math.abs(amperes) + 1e-12);
    }
  });

  it('a gap keeps it from saturating: even harmonics without, 1/40 of them with it', () => {
    const orders = ([null, 0.8] as const).map((gapHenries) => steadyAt(buildProgram(biased({ gapHenries }, 0.03), { rateHz }), 50, 10).db[second]!);
    expect(orders[0]).toBeGreaterThan(-40);
    expect(orders[1]).toBeLessThan(orders[0]! - 32);
  });

  it('small signals see L0 beside the gap, in the exact response, in impedances and as it runs', () => {
    const document = parsedOf([input('in'), resistor('R', 'in', 'p', 118), core('p', 'ground', { gapHenries: 0.8 })], ['p', 'ground']);
    const system = assembleCircuit(document);
    const point = findOperatingPoint(system);
    const henries = 8 / 10.8;
    for (const hz of [20, 100, 1000]) {
      const reactance = 2 * Math.PI * hz * henries;
      const [impedance] = inputImpedance(system, point, [hz]);
      expectWithin(impedance!.re, 118, 1e-6);
      expectWithin(impedance!.im, reactance, 1e-6 * reactance);
      const [response] = exactResponse(system, point, [hz]);
      expectWithin(Math.hypot(response!.re, response!.im), reactance / Math.hypot(118, reactance), 1e-9);
      const program = buildProgram(document, { rateHz });
      const [running] = discreteResponse(program, [hz]);
      expectWithin(Math.hypot(running!.re, running!.im), reactance / Math.hypot(118, reactance), 1e-3);
      // A tone of 1 mV, whose η is 1e-5 and less.
      const { steady } = steadyAt(program, hz, -58);
      const frequency = chooseFrequency(hz, rateHz);
      const [amplitude] = steadyHarmonics(steady, frequency.cycles, [1]).amplitudes;
      expectWithin(amplitude! / peakOf(-58), reactance / Math.hypot(118, reactance), 1e-3);
    }
  });

  it('is found where a core that never saturates takes hundreds of volt-seconds on the way', () => {
    const document = biased({ inductanceHenries: 67, rayleighHenriesPerAmpere: 7.9e5, saturationVoltSeconds: null }, 2.3e-4);
    const point = findOperatingPoint(assembleCircuit(document));
    expectWithin(point.controls[0]!, 67 * 2.3e-4 + 7.9e5 * 2.3e-4 ** 2, 1e-9);
  });

  it('a current nobody determines is none, a contradiction is an error', () => {
    const shorted = parsedOf([input('in'), core('in', 'ground'), resistor('R', 'in', 'ground', 1)], ['in', 'ground']);
    const point = findOperatingPoint(assembleCircuit(shorted));
    expectWithin(point.controls[0]!, 0, 1e-15);
    expect(() => findOperatingPoint(assembleCircuit(parsedOf([source('V', 'a', 'ground', 5), core('a', 'ground'), resistor('R', 'a', 'ground', 1)], ['a', 'ground']))))
      .toThrow(new CircuitError('loop of voltage sources V, T contradicts itself'));
  });
});

describe('a burst', () => {
  const seconds = 8;

  it('leaves remanence, and then silence within 1 nV', () => {
    const program = buildProgram(primary(), { rateHz });
    const instance = new LoopInstance(program, 0, 1, 1e-4);
    // Half a cycle too many.
    const burst = Float64Array.from({ length: 3 * rateHz / 40 }, (_, n) => peakOf(24) * Math.sin((2 * Math.PI * 20 * n) / rateHz));
    instance.process([burst], 0, burst.length);
    const silence = new Float64Array(seconds * rateHz);
    instance.process([silence], 0, silence.length);
    const flux = instance.storedQuantity(0, 0);
    // The branch from the peak ends where its current is 0: remanence of Rayleigh's law, ν i²/2 at the peak's 6 mA and less.
    expect(Math.abs(flux)).toBeGreaterThan(0.005);
    expect(Math.abs(silence.at(-1)!)).toBeLessThan(1e-9);
    instance.reset();
    expect(instance.storedQuantity(0, 0)).toBe(0);
    const histories = new Float64Array(coreHistoryLength);
    instance.readHistories(0, histories);
    expect(histories[coreHead.count]).toBe(0);
  });

  it('from rest silence is silence', () => {
    const silence = new Float64Array(1000);
    new CircuitRunner(buildProgram(primary(), { rateHz }), 1).process([silence], 0, silence.length);
    expect(silence.every((volts) => volts === 0)).toBe(true);
  });
});

describe('a change of values', () => {
  const tone = (from: number, frames: number): Float64Array => Float64Array.from({ length: frames }, (_, k) => peakOf(20) * Math.sin((2 * Math.PI * 30 * (from + k)) / rateHz + 0.3 * Math.sin((from + k) / 50)));
  const played = (program: CircuitProgram, next: CircuitProgram, bias: 'carried' | 'settled' = 'carried'): Float64Array => {
    const before = new CircuitRunner(program, 1);
    before.process([tone(0, 4321)], 0, 4321);
    const after = new CircuitRunner(next, 1);
    after.adopt(before, bias);
    const wave = tone(4321, 2000);
    after.process([wave], 0, wave.length);
    return wave;
  };
  const on = (program: CircuitProgram): Float64Array => {
    const runner = new CircuitRunner(program, 1);
    const wave = tone(0, 6321);
    runner.process([wave], 0, wave.length);
    return wave.slice(4321);
  };

  it.each(['S1', 'S2', 'S4'] as const)('carries flux and reversals: nothing is heard of a program exchanged for itself, %s', (rule: IntegrationRule) => {
    const program = buildProgram(primary(), { rateHz, rule });
    // 0.0005 % of the peak, as for any other take-over; a core that forgot its reversals would be off by tenths of a volt.
    for (const bias of ['carried', 'settled'] as const) expect(largestDifference(played(program, program, bias), on(program))).toBeLessThan(5e-6 * peakOf(20));
  });

  it('into a core of other values, and into a circuit without one', () => {
    const program = buildProgram(primary(), { rateHz });
    const other = buildProgram(primary({ inductanceHenries: 10.1, rayleighHenriesPerAmpere: 1750 }), { rateHz });
    // 1 % of the inductance is 1 % of a current that drops 0.06 of 11 V.
    expect(largestDifference(played(program, other), on(other))).toBeLessThan(0.02);
    const ideal = buildProgram(parsedOf([input('in'), resistor('R', 'in', 'p', 118), { kind: 'inductor', name: 'T', between: ['p', 'ground'], henries: 10 }], ['p', 'ground']), { rateHz });
    // At +4 dBu, 30 Hz, η is 0.15: where the one becomes the other its current is off by that part, and a drop of 0.1 V by 0.015 (0.1 if it began at 0).
    const quiet = (wave: Float64Array): Float64Array => wave.map((volts) => volts * 10 ** (-16 / 20));
    for (const [one, other] of [[program, ideal], [ideal, program]] as const) {
      const [before, after] = [new CircuitRunner(one, 1), new CircuitRunner(other, 1)];
      before.process([quiet(tone(0, 4321))], 0, 4321);
      after.adopt(before);
      const wave = quiet(tone(4321, 100));
      after.process([wave], 0, wave.length);
      const whole = new CircuitRunner(other, 1);
      const straight = quiet(tone(0, 4421));
      whole.process([straight], 0, straight.length);
      expect(largestDifference(wave, straight.slice(4321))).toBeLessThan(0.02);
    }
  });
});

describe('the kernel equals the loop to the bit', () => {
  it.each([
    ['alone', primary()], ['soon saturated', primary({ inductanceHenries: 0.01, rayleighHenriesPerAmpere: 100, saturationVoltSeconds: 1e-4 })],
    ['without saturation, gapped', primary({ saturationVoltSeconds: null, gapHenries: 1 })], ['linear', primary({ rayleighHenriesPerAmpere: 0, saturationVoltSeconds: null })],
    ['two, on one node that nothing else holds', parsedOf([
      input('in'), { kind: 'tanh-transconductor', name: 'G', out: ['a', 'ground'], in: ['in', 'ground'], maxAmperes: 0.1, scaleVolts: 3 }, core('a', 'b'),
      { ...core('b', 'ground', { inductanceHenries: 0.2, saturationVoltSeconds: 1e-3, gapHenries: 0.1 }), name: 'T2' }, resistor('R', 'b', 'ground', 1000),
    ], ['b', 'ground'])],
  ] as const)('%s', (_, document) => {
    for (const [peak, rule] of [[0.1, 'S1'], [2, 'S2'], [100, 'S1']] as const) {
      const { difference, report } = compareBackEnds(buildProgram(document, { rateHz, rule }), unlikeChannels(4000, peak, seed));
      expect(difference).toBeNull();
      expect([...report.capHits, ...report.nonFinite]).toEqual([0, 0, 0, 0]);
    }
  });

  it('where more reversals are nested than are kept', () => {
    const dying = (hz: number): Float64Array => Float64Array.from({ length: 9000 }, (_, n) => 5 * (1 - n / 9000) * Math.cos((2 * Math.PI * hz * n) / rateHz));
    const program = buildProgram(primary({}, 1), { rateHz });
    const { difference } = compareBackEnds(program, [dying(1000), dying(2300)]);
    expect(difference).toBeNull();
    const instance = new LoopInstance(program, 0, 1, 1e-4);
    instance.process([dying(2300).subarray(0, 8000)], 0, 8000);
    const histories = new Float64Array(coreHistoryLength);
    instance.readHistories(0, histories);
    expect(histories[coreHead.count]).toBeGreaterThan(120);
  });

  it('where the memory leaves the numbers, which resets it', () => {
    const growing = parsedOf([
      input('in'), resistor('RI', 'in', 'x', 10e3), capacitor('C', 'x', 'ground', 100e-12), { kind: 'amplifier', name: 'A', out: ['y', 'ground'], in: ['x', 'ground'], gain: 2.7 },
      resistor('RF', 'y', 'x', 10e3), resistor('RC', 'y', 'z', 100), core('z', 'ground'),
    ], ['x', 'ground']);
    const spoilt = [Float64Array.from({ length: 1000 }, () => 1), Float64Array.from({ length: 1000 }, (_, n) => (n < 300 ? 0 : 1e-3))];
    const { difference, report } = compareBackEnds(buildProgram(growing, { rateHz: 384_000 }), spoilt);
    expect(difference).toBeNull();
    expect(Math.min(...report.nonFinite)).toBeGreaterThan(2);
  });
});

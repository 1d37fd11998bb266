// What a program promises: plain data, one kernel per wiring, silence that stays silent, soundness where nodal analysis alone would fail.
import { describe, expect, it } from 'vitest';
import { buildProgram, buildProgramFamily, chooseRule, CircuitError, CircuitRunner, lineLevelPeakVolts, measureCircuit, withRule } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import { bipolar, commonEmitter, expectWithin, idealTailPair, opAmpLoop, pushPull, rateHz } from './support.ts';

const circuits: readonly (readonly [string, CircuitDocument])[] = [
  ['common emitter', commonEmitter()], ['push-pull', pushPull()], ['op-amp loop', opAmpLoop()], ['pair on an ideal tail', idealTailPair()],
];

describe('program', () => {
  it.each(circuits)('is plain data that survives being posted: %s', (_, document) => {
    const program = buildProgram(document, { rateHz });
    const posted = structuredClone(program);
    expect(posted).toEqual(program);
    const here = Float64Array.from({ length: 500 }, (_entry, k) => 0.2 * Math.sin(k / 30));
    const there = here.slice();
    new CircuitRunner(program, 1).process([here], 0, 500);
    new CircuitRunner(posted, 1).process([there], 0, 500);
    expect(there).toEqual(here);
  });

  it.each(circuits)('holds its rest output within 1 nV over 2,000 silent samples: %s', (_, document) => {
    const program = buildProgram(document, { rateHz });
    const wave = new Float64Array(2000);
    new CircuitRunner(program, 1).process([wave], 0, wave.length);
    for (const volts of wave) expectWithin(volts, program.restOutputVolts, 1e-9);
  });

  it('keeps one topology for all values of a wiring, and another for another wiring', () => {
    const key = (document: CircuitDocument): string => buildProgram(document, { rateHz }).topologyKey;
    expect(key(commonEmitter({ collectorOhms: 3300, bypassFarads: 1e-6 }))).toBe(key(commonEmitter()));
    expect(key(pushPull(0.5e-3))).toBe(key(pushPull(5e-3)));
    expect(key(pushPull())).not.toBe(key(pushPull(2.6e-3, false)));
  });

  it('moves the devices\' conductances into the matrix for a pair on an ideal tail, and is right about it', () => {
    const program = buildProgram(idealTailPair(), { rateHz });
    expect(program.topology.shifted).toBe(true);
    // K is ohms of the order of the circuit's own, not 1e12.
    expect(Math.max(...program.instances[0]!.feedbackCoefficients.map(Math.abs))).toBeLessThan(1e5);
    const measured = measureCircuit(program, { frequencyHz: 1000, peakVolts: 0.02, orders: [2, 3] });
    if (measured.oscillates) throw new Error('expected a steady pair, got an oscillation');
    // The ideal pair without base current is I tanh(u / 2VT), its harmonics a plain sum over one period; 0.01 dB is left for 10 pF across 10 kΩ.
    const x = 0.02 / (2 * 0.0258649);
    const ideal = [1, 3].map((order) => Array.from({ length: 256 }, (_entry, k) => Math.tanh(x * Math.cos((2 * Math.PI * k) / 256)) * Math.cos((2 * Math.PI * order * k) / 256)).reduce((sum, v) => sum + v, 0));
    expectWithin(measured.harmonics[1]!.db, 20 * Math.log10(Math.abs(ideal[1]! / ideal[0]!)), 0.01, 'H3');
    expect(measured.harmonics[1]!.signedRatio).toBeLessThan(0);
    expect(measured.solver.capHits).toBe(0);
  });

  it('accepts sources in a loop that agrees with itself', () => {
    const parts = [input('a'), source('V1', 'x', 'ground', 5), source('V2', 'x', 'ground', 5), resistor('R1', 'a', 'out', 1000), resistor('R2', 'x', 'out', 1000)];
    const program = buildProgram(parsedOf(parts, ['out', 'ground']), { rateHz });
    const wave = Float64Array.from([1, 2]);
    new CircuitRunner(program, 1).process([wave], 0, 2);
    expectWithin(wave[0]!, 3, 1e-12);
    expectWithin(wave[1]!, 3.5, 1e-12);
  });

  it('refuses unsound circuits and rates by name', () => {
    expect(() => buildProgram(commonEmitter(), { rateHz: 0 })).toThrow('rateHz: expected a positive number of hertz, got 0');
    expect(() => buildProgram(parsedOf([input('a'), source('V1', 'a', 'ground', 5)], ['a', 'ground']), { rateHz })).toThrow(CircuitError);
  });

  it('carries the operating point by node name', () => {
    const { operatingPoint, restOutputVolts, controlNames } = buildProgram(commonEmitter(), { rateHz });
    // Hand-checked default design: base 3.78 V, emitter 3.08 V, collector 12.92 V (1 %).
    expectWithin(operatingPoint.nodeVolts['b']!, 3.78, 0.04);
    expectWithin(operatingPoint.nodeVolts['e']!, 3.08, 0.03);
    expectWithin(operatingPoint.nodeVolts['c']!, 12.92, 0.13);
    expect(Math.abs(restOutputVolts)).toBeLessThan(1e-9);
    expect(controlNames).toEqual(['Q1 base–emitter', 'Q1 base–collector']);
  });

  it('runs pnp as the mirror of npn', () => {
    const stage = (polarity: 'npn' | 'pnp', sign: number): Float64Array => {
      const parts = [input('b', 'ground', sign * 0.68), bipolar('Q1', polarity, ['out', 'b', 'ground']), resistor('RC', 'v', 'out', 1000), source('V', 'v', 'ground', sign * 10)];
      const wave = Float64Array.from({ length: 400 }, (_entry, k) => sign * 0.05 * Math.sin(k / 20));
      new CircuitRunner(buildProgram(parsedOf(parts, ['out', 'ground']), { rateHz }), 1).process([wave], 0, 400);
      return wave;
    };
    const npn = stage('npn', 1);
    const pnp = stage('pnp', -1);
    expect(Math.max(...npn) - Math.min(...npn)).toBeGreaterThan(1);
    npn.forEach((volts, k) => expectWithin(pnp[k]!, -volts, 1e-12));
  });
});

describe('integration rule', () => {
  const rules = [['T1', [1]], ['T12', [1, 2]], ['T24', [2, 4]]] as const;
  const ringing = parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12)], ['out', 'ground']);

  it.each(rules)('%s has instances of %j steps a sample', (rule, steps) => {
    for (const [, document] of circuits) {
      const program = buildProgram(document, { rateHz, rule });
      expect([program.rule, program.ruleChoice]).toEqual([rule, null]);
      expect(program.instances.map(({ subSteps }) => subSteps)).toEqual(steps);
      expect(program.instances.map(({ stepSeconds }) => stepSeconds)).toEqual(steps.map((count) => 1 / rateHz / count));
      expect(program.topologyKey).toBe(buildProgram(document, { rateHz }).topologyKey);
    }
  });

  // Where no capacitor is stiff at one of the steps only.
  it.each([circuits[0]!, circuits[3]!])('a finer instance has the numbers of a program at that rate: %s', (_, document) => {
    const family = buildProgramFamily(document, { rateHz });
    for (const instance of family.instances) {
      const alone = buildProgram(document, { rateHz: rateHz * instance.subSteps });
      expect(alone.backwardEuler).toEqual([]);
      expect({ ...instance, subSteps: 1 }).toEqual(alone.instances[0]);
    }
  });

  it('decides at the program\'s own step which capacitors go by backward Euler, for all instances', () => {
    // 220 pF behind 10 Ω still ring at four times the rate; 3 nF behind 1 Ω no longer do.
    const slower = parsedOf([input('in'), resistor('R1', 'in', 'out', 1), capacitor('C1', 'out', 'ground', 100e-9 / 50)], ['out', 'ground']);
    for (const document of [ringing, slower]) {
      const [flagged] = rules.map(([rule]) => buildProgram(document, { rateHz, rule })).map(({ stateBackwardEuler, instances }) => ({ stateBackwardEuler, instances }));
      for (const [rule] of rules) {
        const { stateBackwardEuler, instances } = buildProgram(document, { rateHz, rule });
        expect(stateBackwardEuler).toEqual(flagged!.stateBackwardEuler);
        for (const { updateCoefficients, stepSeconds } of instances) {
          // Backward Euler of one capacitor: z' = z/(1 + h/RC) + u (h/RC)/(1 + h/RC); both positive, where the trapezoidal rule alternates.
          const { ohms, farads } = document === ringing ? { ohms: 10, farads: 220e-12 } : { ohms: 1, farads: 2e-9 };
          const ratio = stepSeconds / (ohms * farads);
          expectWithin(updateCoefficients[1]!, 1 / (1 + ratio), 1e-12, rule);
        }
      }
    }
  });

  it('a grade chooses as it is told to from the same family', () => {
    const [, document] = circuits[2]!;
    for (const grade of ['listening', 'measuring'] as const) {
      const { rule, choice } = chooseRule(buildProgramFamily(document, { rateHz }), grade, lineLevelPeakVolts);
      const program = buildProgram(document, { rateHz, rule: grade });
      expect(program.rule).toBe(rule);
      expect(program.ruleChoice).toEqual(choice);
      expect({ ...program, ruleChoice: null }).toEqual(buildProgram(document, { rateHz, rule }));
    }
  });

  it('a level that is not line level is judged at that level', () => {
    const [, document] = circuits[2]!;
    const quiet = buildProgram(document, { rateHz, rule: 'listening', nominalPeakVolts: 1e-3 });
    const loud = buildProgram(document, { rateHz, rule: 'listening', nominalPeakVolts: 4 });
    expect(quiet.ruleChoice!.errorDb).toBeLessThan(0.05);
    expect(quiet.rule).toBe('T1');
    expect(loud.rule).not.toBe('T1');
  });

  it('refuses to make a rule from instances that are not there', () => {
    const [, document] = circuits[0]!;
    expect(() => withRule(buildProgram(document, { rateHz }), 'T24')).toThrow('T24: expected an instance with 2 steps a sample, got 1');
  });
});

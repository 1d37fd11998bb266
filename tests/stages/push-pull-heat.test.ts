/** Heat of the output pair: energy balance, the bias that follows it, the crossover after a loud passage, and the pairs that are refused. */
import { describe, expect, it } from 'vitest';
import { buildProgram, chooseFrequency, cosineDrive, projectHarmonics, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { createStageRunner, dbuToPeakVolts, defaultValues, resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';

const stage = stageById('push-pull');
const valuesOf = (given: StageValues): StageValues => resolveValues(stage, { thermal: 'on', ...given });
const documentOf = (given: StageValues, output: readonly [string, string] = ['out', 'ground']): CircuitDocument => ({ ...stage.circuit(valuesOf(given), null)!, output });
const rateHz = 192_000;
const mean = (wave: Float64Array): number => wave.reduce((sum, x) => sum + x, 0) / wave.length;

function expectNear(actual: number, expected: number, limit: number, what: string): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`${what}: expected ${expected} within ${limit}, got ${actual}`);
}

/** One settled period of the voltage between two nodes under a sine at the input. */
function settled(given: StageValues, output: readonly [string, string], dbu: number): Float64Array {
  const program = buildProgram(documentOf(given, output), { rateHz });
  const frequency = chooseFrequency(1000, rateHz);
  const steady = solveSteadyState(program, { input: cosineDrive(frequency, dbuToPeakVolts(dbu)), cycles: frequency.cycles }, { wantSpectralRadius: false });
  if (steady.method !== 'shooting') throw new Error(`expected shooting to converge, got ${steady.method}`);
  return steady.output;
}

const reading = (given: StageValues, label: string): number => {
  const values = valuesOf(given);
  return stage.report(values, stage.program(values, { rateHz, source: null })).readings.find((candidate) => candidate.label === label)!.value;
};

describe('at rest', () => {
  it('warms by its power times its thermal resistances, and carries the quiescent current it is set to', () => {
    // 2.6 mA × (18 V − 26 mV) = 46.7 mW each; 80 K/W its own and 60 K/W of a sink that both heat: 200 K/W, 9.35 K.
    const { nodeVolts } = stage.report(valuesOf({}), stage.program(valuesOf({}), { rateHz, source: null }));
    expectNear(nodeVolts['hot-up']!, 9.35, 0.02, 'upper junction, K');
    expectNear(nodeVolts['hot-down']!, 9.35, 0.02, 'lower junction, K');
    expectNear(nodeVolts['sink']!, 2 * 0.0467 * 60, 0.02, 'sink, K');
    expectNear(reading({}, 'quiescent current'), 2.6e-3, 0.01 * 2.6e-3, 'quiescent current');
    expectNear(reading({}, 'junctions at rest'), 27 + 9.35, 0.02, 'reading');
  });

  it('changes nothing where heat is left out, and nothing but the bias in the signal where the bias tracks it perfectly', () => {
    const off = stage.circuit(defaultValues(stage), null)!;
    expect(off.components.some(({ kind }) => kind === 'product-transconductor')).toBe(false);
    const tracked = settled({ tracking: 1 }, ['out', 'ground'], 4);
    const cold = settled({ thermal: 'off' }, ['out', 'ground'], 4);
    // 1 nV: the same circuit beside its heat, solved to 1e-9.
    expect(Math.max(...tracked.map((volts, n) => Math.abs(volts - cold[n]!)))).toBeLessThan(1e-8);
  });
});

describe('under a lasting sine', () => {
  it.each([[4, {}], [17, {}], [20, { loadOhms: 100, emitterOhms: 5 }], [14, { quiescentAmperes: 15e-3, betaRatio: 0.5 }]] as const)('at %d dBu, %o, the network takes in what the transistors dissipate', (dbu, given) => {
    const values = valuesOf(given);
    const [re, junction, sink] = [values['emitterOhms'] as number, values['junctionKelvinPerWatt'] as number, values['sinkKelvinPerWatt'] as number];
    const watts = (collector: readonly [string, string], emitter: readonly [string, string]): number => {
      const across = settled(given, collector, dbu);
      const current = settled(given, emitter, dbu);
      return mean(across.map((volts, n) => (volts * current[n]!) / re));
    };
    const upper = watts(['rail-up', 'emitter-up'], ['emitter-up', 'out']);
    const lower = watts(['emitter-down', 'rail-down'], ['out', 'emitter-down']);
    const hot = mean(settled(given, ['hot-up', 'ground'], dbu));
    // In the mean nothing is stored: junction resistance times its own power, sink resistance times both. 1e-6: the period's own tolerance.
    expectNear(hot, junction * upper + sink * (upper + lower), 1e-6 * hot, 'upper junction, K');
    expectNear(mean(settled(given, ['sink', 'ground'], dbu)), sink * (upper + lower), 1e-6 * hot, 'sink, K');
  });

  it('settles where the closed form of the report says', () => {
    const hot = mean(settled({}, ['hot-up', 'ground'], 20));
    // 0.3 K: the report leaves out base currents and what the output loses against the input.
    expectNear(reading({}, 'junctions at 20 dBu'), 27 + hot, 0.3, 'junction, °C');
    // Class B by hand: V I/π − I² R/4 with I = 10.95 V/100 Ω is 0.33 W; AB a little more.
    const heavy = mean(settled({ loadOhms: 100, quiescentAmperes: 1e-4, tracking: 1 }, ['hot-up', 'ground'], 20));
    const peak = dbuToPeakVolts(20) / 100;
    expectNear(heavy / 200, (18 * peak) / Math.PI - (peak * peak * 100) / 4, 0.035, 'watts in class B');
  });
});

describe('after a loud passage', () => {
  const given: StageValues = { quiescentAmperes: 0.5e-3, loadOhms: 100, junctionSeconds: 0.05, sinkSeconds: 0.3 };
  const probeDbu = -3;
  const period = rateHz / 1000;

  /** H3 and H5 in dB over 20 periods of 1 kHz after 5 more. */
  const harmonics = (runner: ReturnType<typeof createStageRunner>): { readonly h3: number; readonly h5: number } => {
    const wave = Float64Array.from({ length: 25 * period }, (_, n) => dbuToPeakVolts(probeDbu) * Math.cos((2 * Math.PI * n) / period));
    runner.process([wave], 0, wave.length);
    const { amplitudes } = projectHarmonics(wave.subarray(5 * period), 20, [1, 3, 5]);
    return { h3: 20 * Math.log10(amplitudes[1]! / amplitudes[0]!), h5: 20 * Math.log10(amplitudes[2]! / amplitudes[0]!) };
  };
  const run = (runner: ReturnType<typeof createStageRunner>, seconds: number, dbu: number): void => {
    const block = new Float64Array(period);
    for (let k = 0; k < seconds * 1000; k += 1) {
      for (let n = 0; n < period; n += 1) block[n] = dbuToPeakVolts(dbu) * Math.cos((2 * Math.PI * n) / period);
      runner.process([block], 0, period);
    }
  };
  const fresh = (more: StageValues = {}) => createStageRunner(stage.program(valuesOf({ ...given, ...more }), { rateHz, source: null, rule: 'T1' }), 1, 'measuring');

  it('the crossover is another one, that of the current the heat has set, and comes back', () => {
    const runner = fresh();
    const cool = harmonics(runner);
    run(runner, 0.6, 20);
    const hot = harmonics(runner);
    run(runner, 0.4, -60);
    const recovering = harmonics(runner);
    run(runner, 3, -60);
    const recovered = harmonics(runner);
    expect(Math.abs(hot.h3 - cool.h3), `H3 ${cool.h3} cool, ${hot.h3} hot`).toBeGreaterThan(6);
    expect(Math.abs(hot.h5 - cool.h5), `H5 ${cool.h5} cool, ${hot.h5} hot`).toBeGreaterThan(6);
    expect(Math.abs(recovering.h3 - cool.h3)).toBeLessThan(Math.abs(hot.h3 - cool.h3));
    expect(Math.abs(recovering.h3 - cool.h3)).toBeGreaterThan(0.3);
    expectNear(recovered.h3, cool.h3, 0.1, 'H3 recovered, dB');
    expectNear(recovered.h5, cool.h5, 0.1, 'H5 recovered, dB');
  });

  it('a pair left cold and set to the current of the heat has the same harmonics', () => {
    // Nearly all of the heat in a slow sink, so that 15 ms after the passage 3 % of it are gone.
    const slow: StageValues = { junctionKelvinPerWatt: 1, sinkKelvinPerWatt: 60, sinkSeconds: 0.5, junctionSeconds: 1e-3 };
    const runner = fresh(slow);
    run(runner, 4, 20);
    const hot = harmonics(runner);
    const kelvin = (mean(settled({ ...given, ...slow }, ['hot-up', 'ground'], 20)) - 0.5e-3 * 18 * 121) * 0.97;
    // By hand: V_BE is 25.86 mV ln(0.5 mA/11.8 fA) = 0.633 V, so −(0.633 − 1.205 − 0.0776) V/300 K = 2.16 mV/K, half of it tracked; kT/q ln(r) + IQ (r − 1) RE = that times the kelvin.
    const bias = 0.5 * 2.16e-3 * kelvin;
    let [low, high] = [1, 100];
    for (let k = 0; k < 60; k += 1) {
      const middle = (low + high) / 2;
      if (0.02586 * Math.log(middle) + 0.5e-3 * (middle - 1) * 10 > bias) high = middle;
      else low = middle;
    }
    expect(low).toBeGreaterThan(1.5);
    const cold = harmonics(fresh({ thermal: 'off', quiescentAmperes: 0.5e-3 * low }));
    // 0.5 dB: the decay during the measurement, and base currents.
    expectNear(hot.h3, cold.h3, 0.5, 'H3, dB');
    expectNear(hot.h5, cold.h5, 0.8, 'H5, dB');
    // 0.1 dB: the tone warms the junctions a little within its 15 ms.
    expectNear(harmonics(fresh(slow)).h3, harmonics(fresh({ thermal: 'off' })).h3, 0.1, 'H3 at rest, dB');
  });

  it('the bias that tracks perfectly leaves the crossover alone', () => {
    const runner = fresh({ tracking: 1 });
    const cool = harmonics(runner);
    run(runner, 0.3, 20);
    expectNear(harmonics(runner).h3, cool.h3, 0.01, 'H3, dB');
  });
});

describe('refused', () => {
  it('is a pair that runs away at rest, and one that a sine takes there, in a sentence', () => {
    const atRest = { thermal: 'on', tracking: 0, emitterOhms: 0.1, quiescentAmperes: 0.02, railVolts: 40, junctionKelvinPerWatt: 100 };
    expect(() => resolveValues(stage, atRest)).toThrow(/^push-pull: thermal: expected a loop gain below 1 .* got \d.* at rest, which runs away; raise the emitter resistors/);
    expect(() => resolveValues(stage, { ...atRest, thermal: 'off' })).not.toThrow();
    expect(() => resolveValues(stage, { ...atRest, tracking: 1, loadOhms: 600 })).not.toThrow();
    const underSignal = { thermal: 'on', tracking: 0, emitterOhms: 0.1, loadOhms: 30 };
    expect(() => resolveValues(stage, underSignal)).toThrow(/under a lasting sine, got a pair that runs away at \d+ % of its largest swing/);
  });
});

import { describe, expect, it } from 'vitest';
import { densityAt, integrateDensity, noiseFrequencies } from '../../dsp/circuit/index.ts';
import { dynamicRangeDb, harmonicsUnderNoise, markUnderNoise, measurePath, noiseReadings, pathNoise, pathSupply, supplyReadings, type PathHarmonics } from '../../dsp/measure/index.ts';
import { planPath, supply, surroundings, type PathPlan, type PathSetting } from '../../dsp/path/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { pathOf, rateHz, renderAll } from '../path/support.ts';
import { bandSquare, measureDensity } from '../support/noise-density.ts';

const defaults = (parameters: readonly { readonly id: string; readonly default: number | string }[], values: StageValues = {}): StageValues =>
  ({ ...Object.fromEntries(parameters.map(({ id, default: value }) => [id, value])), ...values });
const supplyWith = (values: StageValues = {}): StageValues => defaults(supply.parameters, values);
const planOf = (path: PathSetting): PathPlan => planPath(path, rateHz);
const harmonicsOf = (path: PathSetting, peakVolts: number): PathHarmonics => {
  const measured = measurePath(planOf(path), { frequencyHz: 1000, peakVolts, scope: { kind: 'path' } });
  if (measured.oscillates) throw new Error('oscillates');
  return measured;
};

function expectWithin(actual: number, expected: number, limit: number, what = ''): void {
  expect(!(Math.abs(actual - expected) <= limit) ? `${what} got ${actual}, expected ${expected} ± ${limit}` : 'within').toBe('within');
}

describe('noise of a path', () => {
  it('a source resistance alone makes the noise of a resistor: 600 Ω at 300 K −124.8 dBu at the path\'s source', () => {
    // Source of 600 Ω, next to no cable, a load of 1 MΩ: 0.005 dB less.
    const around = defaults(surroundings.parameters, { sourceOhms: 600, tieMetres: 0.1, returnMetres: 0.1, loadOhms: 1e6 });
    const path = pathOf(['equaliser'], { surroundings: around, supply: supplyWith({ temperatureC: 26.85 }) });
    const noise = pathNoise(path, planOf(path));
    const [source] = noise.stages;
    expectWithin(source!.noise!.outputDbu, -124.8, 0.05);
    expect(source!.noise!.largest[0]!.component).toBe('RS');
    expect(noise.stages.map(({ noise: each }) => each === null)).toEqual(noise.stages.map(({ title }) => title.includes('Equaliser')));
  });

  it('adds powers: the output has what each stage sends there, gains behind it included', () => {
    const path = pathOf(['single-ended-bipolar', 'harmonic-shaping', 'single-ended-valve', 'push-pull']);
    const noise = pathNoise(path, planOf(path));
    const power = noise.stages.reduce((sum, { noise: each }) => sum + (each ? 10 ** (each.atPathOutputDbu / 10) : 0), 0);
    // 1e-3 dB: a power law between two points is not quite the sum of two.
    expectWithin(noise.outputDbu, 10 * Math.log10(power), 1e-3);
    // The last adds at the output what it has there; the first arrives through the others' gains, near 0 dB each at line level.
    const last = noise.stages.at(-1)!.noise!;
    expectWithin(last.atPathOutputDbu, last.outputDbu, 1e-9);
    expectWithin(noise.stages[0]!.noise!.atPathOutputDbu, noise.stages[0]!.noise!.outputDbu, 1);
  });

  it('is what a render of the whole path has, within 0.3 dB', () => {
    const path = pathOf(['single-ended-bipolar', 'push-pull'], { supply: supplyWith({ noise: 'noise-alone', seed: 5 }) });
    const plan = planOf(path);
    const [output] = renderAll(plan, [new Float64Array(4 * rateHz)]);
    const samplePeakVolts = Math.SQRT2 * Math.sqrt(0.6) * 10 ** (24 / 20);
    const heard = measureDensity(output!.subarray(rateHz / 2), rateHz, 32_768);
    const { hz, density } = pathNoise(path, plan);
    for (const [low, high] of [[40, 400], [400, 4000], [4000, 19_000]] as const) {
      const inBand = noiseFrequencies(low, high, 48);
      const expected = integrateDensity(inBand, inBand.map((f) => densityAt(hz, density, f)));
      // Chance: 3.5 s of 360 Hz are 2500 degrees of freedom, 0.12 dB.
      expectWithin(10 * Math.log10((bandSquare(heard, low, high) * samplePeakVolts * samplePeakVolts) / expected), 0, 0.3, `${low} to ${high} Hz:`);
    }
  });

  it('is the same whether two stages are solved in one circuit or in two', () => {
    const apart = pathOf(['single-ended-bipolar', 'push-pull']);
    const joined = { ...apart, stages: apart.stages.map((stage, k) => ({ ...stage, joined: k === 1 })) };
    const two = pathNoise(apart, planOf(apart));
    const one = pathNoise(joined, planOf(joined));
    expect([two.stages.length, one.stages.length]).toEqual([2, 1]);
    // 0.02 dB: the output network of the first is its small-signal one at 1 kHz and up, with the pair's base current taken as none.
    expectWithin(one.outputDbu, two.outputDbu, 0.02);
    // Parts are told by their stage's place in the path, not in the circuit.
    expect(two.stages[0]!.noise!.largest[0]!.component).toBe('RP2');
    expect(one.stages[0]!.noise!.largest[0]!.component).toBe('1 RP2');
    // Around them, the source's resistance is the source's in both.
    const around = defaults(surroundings.parameters, { sourceOhms: 1000 });
    const withSource = (path: PathSetting): number => pathNoise({ ...path, surroundings: around }, planOf({ ...path, surroundings: around })).outputDbu;
    expectWithin(withSource(joined), withSource(apart), 0.02);
    expect(withSource(joined)).toBeGreaterThan(one.outputDbu - 1);
    const last = { ...pathOf(['push-pull']), surroundings: around };
    const [, pair] = pathNoise(last, planOf(last)).stages;
    expect(pair!.noise!.largest.every(({ component }) => /^(R|Q|load )/.test(component))).toBe(true);
    expect(pathSupply(last, planOf(last)).stages[1]!.rails.map(({ component }) => component)).toEqual(['VCC', 'VEE']);
  });

  it('follows the temperature: resistors at 85 °C make 0.77 dB more than at 27 °C', () => {
    const noiseAt = (temperatureC: number): number => {
      const path = pathOf(['transformer-output'], { supply: supplyWith({ temperatureC }) });
      return pathNoise(path, planOf(path)).outputDbu;
    };
    expectWithin(noiseAt(85) - noiseAt(27), 10 * Math.log10(358.15 / 300.15), 1e-6);
  });

  it('says input noise before the stage\'s drive, and readings as the page shows them', () => {
    const plain = pathNoise(pathOf(['push-pull']), planOf(pathOf(['push-pull']))).stages[0]!.noise!;
    const driven = pathOf([{ stage: 'push-pull', values: { driveDb: 20 } }]);
    const hard = pathNoise(driven, planOf(driven)).stages[0]!.noise!;
    expectWithin(hard.outputDbu, plain.outputDbu, 1e-9);
    expectWithin(hard.inputDbu!, plain.inputDbu! - 20, 1e-9);
    expectWithin(hard.inputVoltsPerRootHz!, plain.inputVoltsPerRootHz! / 10, 1e-6 * plain.inputVoltsPerRootHz!);
    const { readings, remarks } = noiseReadings(plain, 20);
    expect(readings.map(({ label }) => label)).toEqual(['noise at the output', 'equivalent input noise', 'input noise density', 'dynamic range']);
    expectWithin(dynamicRangeDb(plain, 20)!, 20 - plain.outputDbu, 1e-12);
    expect(remarks[0]!.words).toMatch(/^RS, thermal noise \(\d+ %\); /);
    // Behind another stage there is a source resistance to be compared with.
    const two = pathOf(['single-ended-bipolar', 'push-pull']);
    const second = pathNoise(two, planOf(two)).stages[1]!.noise!;
    expect(second.noiseFigureDb).toBeGreaterThan(0);
    expect(noiseReadings(second, null).readings.map(({ label }) => label)).toContain('noise figure');
  });
});

describe('harmonics under the noise', () => {
  const figures = {
    fundamental: { peakVolts: 1, phaseDegrees: 0 },
    harmonics: [2, 3, 4].map((order, k) => ({ order, ratio: [2e-6, 1e-6, 3e-8][k]!, signedRatio: 0, db: 0, phaseDegrees: 0 })),
  };

  it('are those weaker than the noise in the bandwidth of the analysis round them', () => {
    // 1 µV/√Hz at 2 kHz and 3 kHz, 10 nV/√Hz at 4 kHz: 1.41 µV, 0.71 µV and 0.021 µV rms against it in 1 Hz.
    const noise = { hz: [1000, 3500, 3600, 10_000], density: Float64Array.of(1e-12, 1e-12, 1e-16, 1e-16) };
    expect(harmonicsUnderNoise(figures, 1000, noise)).toEqual([false, true, false]);
    // A tenth of a second hears 10 Hz of it.
    expect(harmonicsUnderNoise(figures, 1000, noise, 10)).toEqual([true, true, true]);
    expect(harmonicsUnderNoise(figures, 1000, noise, 0.1)).toEqual([false, false, false]);
  });

  it('are marked where noise is on, and nowhere else', () => {
    const path = pathOf(['push-pull']);
    const measured = harmonicsOf(path, 0.5);
    expect(JSON.stringify(markUnderNoise(measured, path, planOf(path)))).toBe(JSON.stringify(measured));
    const ripples = { ...path, supply: supplyWith({ noise: 'ripple-alone' }) };
    expect(JSON.stringify(markUnderNoise(measured, ripples, planOf(ripples)))).toBe(JSON.stringify(measured));
    const quietly = harmonicsOf(path, 1e-4);
    const noisy = { ...path, supply: supplyWith({ noise: 'on' }) };
    const marked = markUnderNoise(quietly, noisy, planOf(noisy));
    const density = pathNoise(noisy, planOf(noisy));
    marked.harmonics.forEach(({ ratio, underNoise, order }) => {
      const square = (ratio * quietly.fundamental.peakVolts) ** 2 / 2;
      const at = density.density[density.hz.findIndex((hz) => hz >= order * 1000)]!;
      // White up there: the neighbouring point will do.
      if (Math.abs(Math.log(square / at)) > 0.1) expect(underNoise).toBe(square < at ? true : undefined);
    });
    expect(marked.harmonics.some(({ underNoise }) => underNoise)).toBe(true);
    expect(markUnderNoise(measured, noisy, planOf(noisy)).harmonics.some(({ underNoise }) => underNoise !== true)).toBe(true);
  });
});

describe('the supply of a path', () => {
  it('states rejection, ripple and coupling of every stage', () => {
    const path = pathOf(['single-ended-bipolar', 'single-ended-field-effect', 'harmonic-shaping', 'push-pull'], { supply: supplyWith({ regulationDb: 0, supplyOhms: 1 }) });
    const found = pathSupply(path, planOf(path));
    expect(found.stages.map(({ rails }) => rails.length)).toEqual([1, 1, 0, 2]);
    expect(found.rails.map(({ volts }) => volts)).toEqual([24, 18, -18]);
    // A collector resistor to the rail with the load beside it: RL / (RL + RC) and no more.
    expect(found.stages[0]!.rails[0]!.rejectionDb[1]!).toBeGreaterThan(0);
    expect(found.stages[0]!.rails[0]!.rejectionDb[1]!).toBeLessThan(6);
    expect(found.stages[3]!.rails[0]!.rejectionDb[1]!).toBeGreaterThan(40);
    // Two stages share 24 V, the pair has its own rails: two couplings.
    expect(found.couplings.map(({ from, to }) => [from[0], to[0]]).sort()).toEqual([['1', '2'], ['2', '1']]);
    const readings = supplyReadings(found.stages[0]!);
    expect(readings.map(({ label }) => label)).toEqual(['VCC delivers', 'supply rejection, VCC', 'ripple at the output']);
  });

  it('couples through what the rail has of resistance, in proportion; a first stage with a collector resistor as its hand calculation says', () => {
    const couplingAt = (supplyOhms: number): number => {
      const path = pathOf(['single-ended-bipolar', 'single-ended-field-effect'], { supply: supplyWith({ supplyOhms, regulationDb: 120 }) });
      const found = pathSupply(path, planOf(path)).couplings.find(({ from }) => from.startsWith('1 '))!;
      return found.db[1]!;
    };
    expectWithin(couplingAt(10) - couplingAt(1), 20, 1e-3);
    const path = pathOf(['single-ended-bipolar', 'single-ended-field-effect']);
    const { values } = path.stages[0]!;
    const v = (id: string): number => values[id] as number;
    const rejection = pathSupply(path, planOf(path)).stages[1]!.rails[0]!.rejectionDb[1]!;
    const makeUp = v('makeUpDb');
    // A volt at its collector is 1/RC amperes from the rail (the divider takes next to nothing of it), times 1 Ω, less what the second rejects; its own make-up lies between collector and output.
    expectWithin(couplingAt(1), -20 * Math.log10(v('collectorOhms')) - rejection - makeUp, 0.5);
  });

  it('adds ripple of all stages at the path\'s output as they are heard, with their signs', () => {
    const levels = [false, true].map((reversed) => {
      const path = pathOf([{ stage: 'single-ended-bipolar', reversed }, 'single-ended-field-effect'], { supply: supplyWith({ noise: 'ripple-alone', regulationDb: 20 }) });
      const plan = planOf(path);
      const [output] = renderAll(plan, [new Float64Array(rateHz)]);
      const window = output!.subarray(rateHz / 2);
      const mean = window.reduce((sum, x) => sum + x, 0) / window.length;
      const square = window.reduce((sum, x) => sum + (x - mean) ** 2, 0) / window.length;
      const dbu = 10 * Math.log10(square) + 24 + 10 * Math.log10(2);
      // 0.05 dB: half a second after the start the coupling capacitors have nearly settled.
      expectWithin(pathSupply(path, plan).rippleDbu!, dbu, 0.05);
      return dbu;
    });
    // The second inverts what comes from the first, and so takes some of it away; turned, it adds.
    expect(levels[1]! - levels[0]!).toBeGreaterThan(3);
  });

  it('shows no rejection of a rail that nothing gets through from', () => {
    const stage = { key: 's1', title: '1', rippleDbu: -Infinity, rails: [{ component: 'VEE', volts: -18, amperes: 0.05, rejectionDb: [Infinity, Infinity, Infinity] }] };
    expect(supplyReadings(stage).map(({ label }) => label)).toEqual(['VEE delivers']);
    const [, rejection] = supplyReadings({ ...stage, rails: [{ ...stage.rails[0]!, rejectionDb: [Infinity, 80, -3] }] });
    expect([rejection!.value, rejection!.note]).toEqual([80, 'at 1 kHz; endless dB at 100 Hz, −3 dB at 10 kHz']);
  });

  it('takes the sheet\'s own values where a path has none', () => {
    const path = pathOf(['single-ended-bipolar']);
    expect(pathSupply(path, planOf(path)).values).toEqual(supplyWith());
  });
});

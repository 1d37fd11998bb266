// The periodic steady state: converged harmonics, the memory's own dynamics, and honest words where there is no steady state.
import { describe, expect, it } from 'vitest';
import {
  buildProgram, buildProgramFamily, chooseFrequency, CircuitRunner, cosineDrive, measureCircuit, measuringTolerance, projectHarmonics, solveSteadyState, subStepsOfRule, withRule,
} from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram, SteadyMeasurement } from '../../dsp/circuit/index.ts';
import { monodromyByProduct } from '../../dsp/circuit/exact-monodromy.ts';
import { finished } from '../../ui/command-line/finished.ts';
import { periodOfSubInputs } from '../../dsp/circuit/periodic-rule.ts';
import { ChannelSolver } from '../../dsp/circuit/solver.ts';
import { createSolverReport } from '../../dsp/circuit/solver-report.ts';
import { spectralRadius } from '../../dsp/circuit/spectral-radius.ts';
import { capacitor, documentFile, input, parsedOf, resistor } from '../support/circuits.ts';
import { commonEmitter, expectWithin, idealTailPair, largestDifference, opAmpLoop, pushPull, rateHz } from './support.ts';

const lineLevelPeak = Math.sqrt(1.2) * 10 ** (4 / 20);

function steady(program: CircuitProgram, frequencyHz: number, peakVolts: number, orders = [2, 3, 4, 5]): SteadyMeasurement {
  const measured = measureCircuit(program, { frequencyHz, peakVolts, orders });
  if (measured.oscillates) throw new Error(`expected a steady state, got a spectral radius of ${measured.spectralRadius}`);
  return measured;
}

describe('shooting', () => {
  it.each([
    ['common emitter', commonEmitter(), 0.25, 'T1'], ['common emitter, clipping', commonEmitter(), 3, 'T1'], ['push-pull near class B', pushPull(50e-6), 1.7, 'T1'],
    ['op-amp loop', opAmpLoop(), 1.7, 'T1'], ['pair on an ideal tail', idealTailPair(), 0.1, 'T1'], ['valve stage', documentFile('single-ended-valve'), 2, 'T1'],
    ['common emitter, clipping', commonEmitter(), 3, 'T12'], ['common emitter, clipping', commonEmitter(), 3, 'T24'], ['op-amp loop', opAmpLoop(), 1.7, 'T24'],
  ] as const)('finds a period that repeats itself: %s, %d V, %s', (_, document, peakVolts, rule) => {
    const program = buildProgram(document, { rateHz, rule });
    const drive = cosineDrive(chooseFrequency(1000, rateHz), peakVolts);
    const found = solveSteadyState(program, { input: drive });
    expect(found.method).toBe('shooting');
    expect(found.oscillates).toBe(false);
    expect(found.capHits).toBe(0);
    expect(found.spectralRadius).toBeLessThan(1);
    expect(found.instances.map(({ subSteps }) => subSteps)).toEqual([...subStepsOfRule[rule]]);
    const radii = found.instances.map(({ states, controls, monodromy, output, subSteps }, index) => {
      // Five more periods of the same solver from there stay where they are: 1e-7 V.
      const solver = new ChannelSolver(program, createSolverReport(1), 0, index);
      solver.tolerance = measuringTolerance;
      solver.place(states, controls);
      const subInputs = periodOfSubInputs(drive, subSteps as 1 | 2 | 4);
      for (let period = 0; period < 5; period += 1) {
        const wave = subInputs.slice();
        solver.run(wave, 0, wave.length);
        output.forEach((volts, step) => expectWithin(wave[step]!, volts, 1e-7, `instance ${index}, period ${period}, step ${step}`));
      }
      const product = finished(monodromyByProduct(program, index, { startStates: states, startControls: controls, startHistories: new Float64Array(0) }, subInputs));
      // Finite differences against the exact product: 1e-5 of the largest entry.
      const largest = Math.max(...product.map(Math.abs));
      monodromy!.forEach((entry, k) => expectWithin(entry, product[k]!, 1e-5 * Math.max(1, largest), `instance ${index}, entry ${k}`));
      return spectralRadius(product, states.length);
    });
    expectWithin(found.spectralRadius, Math.max(...radii), 1e-5, 'radius');
  });

  it.each(['T1', 'T12', 'T24'] as const)('finds what the program itself comes to when it plays: %s', (rule) => {
    // Memory of milliseconds, so that 200 ms of playing is enough; a tone of five cycles in 192 samples, near enough to the rate that the sub-inputs count.
    const program = buildProgram(commonEmitter({ inputFarads: 1e-6, bypassFarads: 10e-6, outputFarads: 1e-6 }), { rateHz, rule });
    const frequency = chooseFrequency(10_000, rateHz);
    const drive = cosineDrive(frequency, 0.5);
    const runner = new CircuitRunner(program, 1, measuringTolerance);
    let wave = drive;
    for (let period = 0; period < 400; period += 1) {
      wave = drive.slice();
      runner.process([wave], 0, wave.length);
    }
    const found = solveSteadyState(program, { input: drive, cycles: frequency.cycles });
    // 1e-6 V: what is left of settling. Rules differ by 1 mV (T1, T12) and 3 µV (T12, T24) here, and the cubic from the exact tone between the samples by 70 µV.
    expectWithin(largestDifference(wave, found.output), 0, 1e-6, 'volts');
  });

  it('starts a program of another rule from what it has', () => {
    const family = buildProgramFamily(commonEmitter(), { rateHz });
    const drive = cosineDrive(chooseFrequency(1000, rateHz), 2);
    const coarse = solveSteadyState(withRule(family, 'T1'), { input: drive }, { wantSpectralRadius: false });
    const cold = solveSteadyState(withRule(family, 'T12'), { input: drive }, { wantSpectralRadius: false });
    const warm = solveSteadyState(withRule(family, 'T12'), { input: drive }, { warmStart: coarse, wantSpectralRadius: false });
    expect(warm.periods).toBeLessThan(cold.periods);
    expectWithin(largestDifference(warm.output, cold.output), 0, 1e-6, 'volts');
  });

  it.each([[47e-6, 10e3], [10e-3, 100e3], [10e-3, 10e6]])('has the radius that the slowest coupling gives: %d F, %d Ω', (farads, ohms) => {
    // A high-pass: what a period loses is 1 − e^(−T/RC), 2e-3 to 1e-8: to 1e-4 of itself, that is 1e-12 in the last.
    const program = buildProgram(parsedOf([input('a'), capacitor('C1', 'a', 'b', farads), resistor('R1', 'b', 'ground', ohms)], ['b', 'ground']), { rateHz });
    const { spectralRadius: radius } = steady(program, 1000, 1).solver;
    expectWithin((1 - radius) / -Math.expm1(-1e-3 / (ohms * farads)), 1, 1e-4, 'relative');
  });

  it('agrees with waiting, where waiting is possible', () => {
    const document = commonEmitter({ inputFarads: 1e-6, bypassFarads: 10e-6, outputFarads: 1e-6 });
    const program = buildProgram(document, { rateHz });
    const drive = cosineDrive(chooseFrequency(1000, rateHz), 0.5);
    const runner = new CircuitRunner(program, 1, measuringTolerance);
    let wave = drive;
    for (let period = 0; period < 400; period += 1) {
      wave = drive.slice();
      runner.process([wave], 0, wave.length);
    }
    const waited = projectHarmonics(wave, 1, [1, 2, 3, 4, 5]).amplitudes;
    const shot = projectHarmonics(solveSteadyState(program, { input: drive }).output, 1, [1, 2, 3, 4, 5]).amplitudes;
    shot.forEach((amplitude, k) => expectWithin(20 * Math.log10(amplitude / waited[k]!), 0, 0.001, `order ${k + 1}, dB`));
  });

  it('costs a few periods along a level sweep when warm-started, and finds the same', () => {
    const program = buildProgram(commonEmitter(), { rateHz });
    const frequency = chooseFrequency(1000, rateHz);
    let last = solveSteadyState(program, { input: cosineDrive(frequency, 0.02) });
    let periods = 0;
    const levels = Array.from({ length: 41 }, (_, k) => 0.02 * 10 ** (k / 20));
    for (const level of levels) {
      last = solveSteadyState(program, { input: cosineDrive(frequency, level) }, { warmStart: last, wantSpectralRadius: false });
      expect(last.method).toBe('shooting');
      periods += last.periods;
    }
    // Up to twice clipping; our measurements on other circuits: 2.6 to 4.5.
    expect(periods / levels.length).toBeLessThan(7);
    const cold = solveSteadyState(program, { input: cosineDrive(frequency, levels.at(-1)!) });
    last.output.forEach((volts, k) => expectWithin(volts, cold.output[k]!, 1e-6, `sample ${k}`));
  });

  it('gives harmonics that converge with the rate, 12 dB per octave', () => {
    const atRate = (factor: number): number => steady(buildProgram(commonEmitter(), { rateHz: 48_000 * factor }), 5000, 0.25).harmonics[1]!.ratio;
    const [coarse, middle, fine] = [atRate(4), atRate(8), atRate(16)];
    expectWithin(20 * Math.log10(Math.abs((coarse - middle) / (middle - fine))), 12.04, 2.5, 'dB per octave');
  });
});

describe('no steady state', () => {
  /** A phase-shift loop of three equal low-passes: it oscillates when the pair's gain exceeds 8 (Barkhausen; any text on oscillators). */
  function phaseShift(gain: number): CircuitDocument {
    const thermal = 2 * 0.0258649;
    return parsedOf([
      input('in'), resistor('RI', 'in', 'g', 100e3), resistor('RG', 'g', 'ground', 1000),
      { kind: 'tanh-transconductor', name: 'G1', out: ['a', 'ground'], in: ['g', 'd'], maxAmperes: 1e-3, scaleVolts: thermal },
      resistor('RA', 'a', 'ground', (gain * thermal) / 1e-3), { kind: 'amplifier', name: 'A1', out: ['a2', 'ground'], in: ['a', 'ground'], gain: 1 },
      resistor('R1', 'a2', 'b', 10e3), capacitor('C1', 'b', 'ground', 1e-9), { kind: 'amplifier', name: 'A2', out: ['b2', 'ground'], in: ['b', 'ground'], gain: 1 },
      resistor('R2', 'b2', 'c', 10e3), capacitor('C2', 'c', 'ground', 1e-9), { kind: 'amplifier', name: 'A3', out: ['c2', 'ground'], in: ['c', 'ground'], gain: 1 },
      resistor('R3', 'c2', 'd', 10e3), capacitor('C3', 'd', 'ground', 1e-9),
    ], ['d', 'ground']);
  }

  it('says so of a loop that oscillates, with no harmonics', () => {
    const measured = measureCircuit(buildProgram(phaseShift(10), { rateHz }), { frequencyHz: 1000, peakVolts: 0.1, orders: [2, 3] });
    expect(measured.oscillates).toBe(true);
    expect(Object.keys(measured).sort()).toEqual(['oscillates', 'spectralRadius']);
    expect((measured as { spectralRadius: number }).spectralRadius).toBeGreaterThan(1);
  });

  it('knows an unstable period by its radius although shooting finds it', () => {
    // At 20 kHz the loop, just past its limit, grows little in one period: the driven periodic solution is found, and it is not stable.
    const program = buildProgram(phaseShift(8.2), { rateHz });
    const found = solveSteadyState(program, { input: cosineDrive(chooseFrequency(20_000, rateHz), 1e-3) });
    expect(found.method).toBe('shooting');
    expect(found.spectralRadius).toBeGreaterThan(1);
    expect(found.spectralRadius).toBeLessThan(1.5);
    expect(found.oscillates).toBe(true);
  });

  it('measures the same loop below the limit of stability', () => {
    const measured = steady(buildProgram(phaseShift(6), { rateHz }), 1000, 0.1);
    expect(measured.solver.spectralRadius).toBeLessThan(1);
    expect(measured.solver.method).toBe('shooting');
  });
});

describe('spectral radius', () => {
  it('sees 1e-7 of a distance to 1 in a matrix with a large norm', () => {
    // Triangular, so its eigenvalues are its diagonal; the corner makes the norm 5,000.
    for (const radius of [0.9999999, 1.0000001, 0.5]) expectWithin(spectralRadius(Float64Array.from([radius, 5000, 0, 0.3]), 2), radius, 2e-8);
    expect(spectralRadius(new Float64Array(4), 2)).toBe(0);
    // A rotation by 1 rad, shrunk to 0.9.
    expectWithin(spectralRadius(Float64Array.from([0.9 * Math.cos(1), -0.9 * Math.sin(1), 0.9 * Math.sin(1), 0.9 * Math.cos(1)]), 2), 0.9, 1e-7);
  });
});

describe('frequency and projection', () => {
  it('uses a frequency exactly where a period of up to 65,536 samples holds it', () => {
    expect(chooseFrequency(1000, 384_000)).toEqual({ cycles: 1, periodFrames: 384, hz: 1000 });
    expect(chooseFrequency(10_000, 384_000)).toEqual({ cycles: 5, periodFrames: 192, hz: 10_000 });
    expect(chooseFrequency(1000, 352_800)).toEqual({ cycles: 5, periodFrames: 1764, hz: 1000 });
    // 1249 is prime: its exact period would be 352,800 samples. No other pair of up to 64 cycles is nearer than the one chosen.
    const near = chooseFrequency(1249, 352_800);
    expect(near.hz).toBe((near.cycles * 352_800) / near.periodFrames);
    for (let cycles = 1; cycles <= 64; cycles += 1) {
      const hz = (cycles * 352_800) / Math.round((cycles * 352_800) / 1249);
      expect(Math.abs(near.hz - 1249)).toBeLessThanOrEqual(Math.abs(hz - 1249));
    }
    expect(near.cycles).toBeLessThanOrEqual(64);
    expect(chooseFrequency(0.1 + 0.2, 48_000).hz).toBeCloseTo(0.3, 12);
    expect(() => chooseFrequency(200_000, 384_000)).toThrow('expected more than 0 and less than 192000 Hz (half the rate), got 200000 Hz');
    expect(() => chooseFrequency(NaN, 384_000)).toThrow('got NaN');
  });

  it.each([[5, 192], [5, 191], [4, 192], [1, 15]])('projects amplitudes, phases and mean back: %d cycles in %d samples', (cycles, frames) => {
    const wave = Float64Array.from({ length: frames }, (_, i) => {
      const t = (2 * Math.PI * cycles * i) / frames;
      return 12 + 3 * Math.cos(t + 0.4) + 1e-6 * Math.cos(2 * t - 2) + 1e-9 * Math.cos(7 * t + 3);
    });
    const { dcVolts, amplitudes, phases } = projectHarmonics(wave, cycles, [1, 2, 3, 7]);
    expectWithin(dcVolts, 12, 1e-14);
    [3, 1e-6, 0, 1e-9].forEach((expected, k) => expectWithin(amplitudes[k]!, expected, 2e-14));
    [0.4, -2].forEach((expected, k) => expectWithin(phases[k]!, expected, 1e-8));
    expectWithin(phases[3]!, 3, 1e-4);
  });
});

describe('measureCircuit', () => {
  it.each([
    // Collocation and a general-purpose simulator, at +4, +10.5 and +14.5 dBu out, 1 kHz: H2 … H5 in dB; 0.3 dB of what is above −100 dB.
    [4, [-60, -83]], [10.5, [-53, -69, -86]], [14.5, [-47.5, -59, -71, -83]],
  ] as const)('common emitter at %d dBu', (dbu, expected) => {
    const program = buildProgram(commonEmitter(), { rateHz });
    const wanted = Math.sqrt(1.2) * 10 ** (dbu / 20);
    // Level adjusted at the output, as the reference was.
    let peakVolts = wanted / 7.33;
    for (let k = 0; k < 3; k += 1) peakVolts *= wanted / steady(program, 1000, peakVolts).fundamental.peakVolts;
    const { harmonics, dcVolts } = steady(program, 1000, peakVolts);
    // 0.5 dB: the references are rounded to whole and half decibels.
    expected.forEach((db, k) => expectWithin(harmonics[k]!.db, db, 0.55, `H${k + 2}`));
    expect(Math.abs(dcVolts)).toBeLessThan(1e-6);
  });

  it('signs harmonics by the output\'s own polarity', () => {
    // y = x − x³/8·…: a tanh transconductor into a resistor, in phase and inverted; symmetrical compression is H3 < 0 in both.
    const shaper = (out: readonly [string, string]): CircuitDocument => parsedOf([
      input('in'), { kind: 'tanh-transconductor', name: 'G1', out, in: ['in', 'ground'], maxAmperes: 1e-3, scaleVolts: 1 }, resistor('R1', 'o', 'ground', 1000),
    ], ['o', 'ground']);
    for (const out of [['o', 'ground'], ['ground', 'o']] as const) {
      const { harmonics, fundamental, thd } = steady(buildProgram(shaper(out), { rateHz }), 1000, 0.1, [2, 3]);
      expectWithin(Math.abs(fundamental.phaseDegrees), out[0] === 'o' ? 0 : 180, 1e-9);
      // tanh x = x − x³/3 + …: H3 = −x²/12 / (1 − x²/4), x = 0.1.
      expectWithin(harmonics[1]!.signedRatio, -(0.01 / 12) / (1 - 0.01 / 4), 5e-6);
      expect(harmonics[0]!.ratio).toBeLessThan(1e-14);
      expectWithin(thd.f, harmonics[1]!.ratio, 1e-12);
      expectWithin(thd.r, thd.f / Math.hypot(1, thd.f), 1e-15);
    }
  });

  it('crossover distortion of followers at 50 µA, +4 dBu: H3, H5, H7', () => {
    const program = buildProgram(pushPull(50e-6, false), { rateHz });
    let peakVolts = lineLevelPeak;
    for (let k = 0; k < 4; k += 1) peakVolts *= lineLevelPeak / steady(program, 1000, peakVolts).fundamental.peakVolts;
    const { harmonics } = steady(program, 1000, peakVolts, [3, 5, 7]);
    [-37, -44, -49].forEach((db, k) => expectWithin(harmonics[k]!.db, db, 0.8, `H${2 * k + 3}`));
  });
});

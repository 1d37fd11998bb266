import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { assembleCircuit } from '../../dsp/circuit/assemble.ts';
import type { CircuitDocument } from '../../dsp/circuit/components.ts';
import { exactResponse } from '../../dsp/circuit/exact-response.ts';
import { densityAt, integrateDensity, noiseFrequencies } from '../../dsp/circuit/noise-band.ts';
import { flickerCornerHz } from '../../dsp/circuit/noise-data.ts';
import { noiseFigures } from '../../dsp/circuit/noise-figures.ts';
import type { NoiseMechanism } from '../../dsp/circuit/noise-sources.ts';
import { circuitNoise } from '../../dsp/circuit/noise.ts';
import type { CircuitNoise } from '../../dsp/circuit/noise.ts';
import { findOperatingPoint } from '../../dsp/circuit/operating-point.ts';
import { capacitor, inductor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { bipolar, pushPull } from './support.ts';

const k = 1.380649e-23;
const q = 1.602176634e-19;
const kelvin27 = 300.15;
const zeroDbuVolts = Math.sqrt(0.6);

function noiseOf(document: CircuitDocument, hz: readonly number[], temperatureK?: number): CircuitNoise {
  const system = assembleCircuit(document);
  return circuitNoise(document, system, findOperatingPoint(system), temperatureK === undefined ? { hz } : { hz, temperatureK });
}

const partsNoise = (parts: readonly Part[], output: readonly [string, string], hz: readonly number[], temperatureK = 300): CircuitNoise =>
  noiseOf(parsedOf(parts, output), hz, temperatureK);

function contribution(noise: CircuitNoise, component: string, mechanism: NoiseMechanism, index = 0): number {
  const found = noise.contributors.filter((each) => each.component === component && each.mechanism === mechanism);
  if (found.length === 0) throw new Error(`no ${mechanism} of ${component}`);
  return found.reduce((sum, { density }) => sum + density[index]!, 0);
}

function expectNear(actual: number, expected: number, relative: number, what = ''): void {
  expect(!(Math.abs(actual - expected) <= relative * Math.abs(expected)) ? `${what} got ${actual}, expected ${expected} ± ${relative}` : 'near').toBe('near');
}

describe('thermal noise', () => {
  // Known figures of studio practice at 300 K over 20 Hz – 20 kHz; 0.05 dB is half of the last digit they are given with.
  it.each([[150, -130.8], [600, -124.8]])('%d Ω at 300 K makes %d dBu from 20 Hz to 20 kHz', (ohms, dbu) => {
    const hz = noiseFrequencies();
    const noise = partsNoise([resistor('R', 'a', 'ground', ohms)], ['a', 'ground'], hz);
    const level = 20 * Math.log10(Math.sqrt(integrateDensity(hz, noise.density)) / zeroDbuVolts);
    expect(!(Math.abs(level - dbu) <= 0.05) ? level : 'within').toBe('within');
    expectNear(integrateDensity(hz, noise.density), 4 * k * 300 * ohms * 19_980, 1e-12);
  });

  it('is that of the real part of an impedance, whatever it is made of (Nyquist 1928)', () => {
    fc.assert(fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 6, maxLength: 6 }), fc.double({ min: 1, max: 5, noNaN: true }), (shares, decade) => {
      const [r1, r2, r3, c1, c2, l] = shares.map((share) => 10 ** (3 * share)) as [number, number, number, number, number, number];
      const parts = [resistor('R1', 'a', 'b', 10 * r1), capacitor('C1', 'b', 'ground', 1e-9 * c1), resistor('R2', 'b', 'c', 10 * r2), inductor('L', 'c', 'ground', 1e-3 * l),
        resistor('R3', 'a', 'ground', 100 * r3), capacitor('C2', 'a', 'c', 1e-9 * c2)];
      const hz = 10 ** decade;
      const noise = partsNoise(parts, ['a', 'ground'], [hz]);
      // Impedance at the output: one ampere into it is one volt in series with 1 GΩ, which adds nothing that shows.
      const driven = assembleCircuit(parsedOf([...parts, input('drive'), resistor('RD', 'drive', 'a', 1e12)], ['a', 'ground']));
      const real = exactResponse(driven, findOperatingPoint(driven), [hz])[0]!.re * 1e12;
      return Math.abs(noise.density[0]! - 4 * k * 300 * real) <= 1e-6 * noise.density[0]!;
    }), { seed: 20261125, numRuns: 60 });
  });

  it('adds up to kT/C in a capacitor, whatever the resistor', () => {
    for (const ohms of [100, 1e5]) {
      const farads = 1e-9;
      const cornerHz = 1 / (2 * Math.PI * ohms * farads);
      const hz = noiseFrequencies(cornerHz / 1e4, cornerHz * 1e4, 48);
      const noise = partsNoise([resistor('R', 'a', 'ground', ohms), capacitor('C', 'a', 'ground', farads)], ['a', 'ground'], hz);
      // 4 decades beyond the corner on either side leave out 2/π · 1e-4 of the whole each; the pieces' law is off by less than 2e-4.
      expectNear(integrateDensity(hz, noise.density), (k * 300) / farads, 4e-4);
    }
  });

  it('goes up the square of a turns ratio, and follows the temperature', () => {
    const parts = [resistor('R', 'a', 'ground', 150), { kind: 'ideal-transformer', name: 'T', primary: ['a', 'ground'], secondary: ['b', 'ground'], turnsRatio: 0.1 }];
    expectNear(partsNoise(parts, ['b', 'ground'], [1000]).density[0]!, 100 * 4 * k * 300 * 150, 1e-9);
    expectNear(partsNoise(parts, ['b', 'ground'], [1000], 330).density[0]!, 100 * 4 * k * 330 * 150, 1e-9);
  });
});

describe('a bipolar stage', () => {
  const parts: Part[] = [
    input('in'), resistor('RS', 'in', 's', 1000), capacitor('C1', 's', 'b', 100e-6), resistor('R1', 'vp', 'b', 150e3), resistor('R2', 'b', 'ground', 15e3),
    bipolar('Q1', 'npn', ['c', 'b', 'e'], { forwardBeta: 200, baseOhms: 200 }),
    resistor('RC', 'vp', 'c', 4700), resistor('RE', 'e', 'x', 100), resistor('REB', 'x', 'ground', 900), capacitor('CE', 'x', 'ground', 1000e-6),
    resistor('RL', 'c', 'ground', 10e3), source('VCC', 'vp', 'ground', 24),
  ];

  it('agrees with a general circuit simulator, source by source', () => {
    // ngspice 39 once, by hand: the same circuit (.model npn is=1e-14 bf=200 br=1 vaf=100 rb=200), temp = tnom = 27, gmin 1e-18, reltol 1e-9, "noise v(c) VIN dec 1 10 100k 1".
    // V/√Hz at 10 Hz and 1 kHz. It has no 1/f noise unless told, so what the base current's 1/f adds is taken out of ours.
    const expected: [string, NoiseMechanism, number, number][] = [
      ['Q1', 'collector shot', 1.288248e-8, 1.301610e-8],
      ['Q1', 'base shot', 4.541630e-8, 4.550319e-8],
      ['Q1', 'base-resistance thermal', 4.612964e-8, 4.664434e-8],
      ['RS', 'thermal', 9.609589e-8, 9.717383e-8],
      ['RE', 'thermal', 3.262866e-8, 3.299271e-8],
      ['R2', 'thermal', 2.512413e-8, 2.509021e-8],
    ];
    const noise = noiseOf(parsedOf(parts, ['c', 'ground']), [10, 1000], kelvin27);
    for (const [component, mechanism, at10, at1000] of expected) {
      [at10, at1000].forEach((volts, index) => {
        const flicker = mechanism === 'base shot' ? 1 + flickerCornerHz.bipolarBase / [10, 1000][index]! : 1;
        // 2e-4: its k and q are older values, and it prints seven digits of a bias found to 1e-9.
        expectNear(Math.sqrt(contribution(noise, component, mechanism, index) / flicker), volts, 2e-4, `${component} ${mechanism}`);
      });
    }
  });

  it('has the equivalent input noise of the textbook: rb, re/2 and the base current through the source', () => {
    // Gray, Hurst, Lewis, Meyer, chapter 11 (from memory): v² = 4kT (rb + 1/2gm), i² = 2q IB (1 + fc/f), uncorrelated; common emitter without degeneration, ideal bias.
    const emitter = [
      input('in', 'ground', 0.66), resistor('RS', 'in', 'b', 2000),
      bipolar('Q1', 'npn', ['c', 'b', 'ground'], { forwardBeta: 200, baseOhms: 150, earlyVolts: null }), resistor('RC', 'vp', 'c', 1), source('VCC', 'vp', 'ground', 10),
    ];
    const document = parsedOf(emitter, ['c', 'ground']);
    const system = assembleCircuit(document);
    const point = findOperatingPoint(system);
    const hz = 20_000;
    const noise = circuitNoise(document, system, point, { hz: [hz], temperatureK: kelvin27 });
    const figures = noiseFigures(noiseOf(document, noiseFrequencies(), kelvin27), { isSource: (name) => name === 'RS' || name === 'RC' });
    const base = (0.66 - point.nodeVolts('Q1 inner base')) / 2150;
    const gm = (200 * base) / ((k * kelvin27) / q);
    // Of the transistor alone, referred to the ideal input: divided by what is lost between there and the base, rπ/(rπ + RS + rb), for the collector's part only.
    const rPi = 200 / gm;
    const loss = rPi / (rPi + 2150);
    const expected = 4 * k * kelvin27 * 150 + 2 * q * 200 * base / (gm * gm * loss * loss) + 2 * q * base * (1 + flickerCornerHz.bipolarBase / hz) * 2150 * 2150;
    const gain = Math.hypot(noise.transfer![0]!.re, noise.transfer![0]!.im);
    const own = noise.contributors.filter(({ component }) => component === 'Q1').reduce((sum, { density }) => sum + density[0]!, 0);
    // 1e-6: the leak of the reversed collector junction.
    expectNear(own / (gain * gain), expected, 1e-6);
    // Noise figure at 1 kHz: own over the source's 4k · 290 K · RS; RC counted as source adds nothing at 1 Ω but its part, below 1e-4.
    const spot = 4 * k * kelvin27 * 150 + 2 * q * 200 * base / (gm * gm * loss * loss) + 2 * q * base * (1 + flickerCornerHz.bipolarBase / 1000) * 2150 * 2150;
    expect(figures.inputVoltsPerRootHz! ** 2 / spot).toBeCloseTo(1, 3);
    const sourceOnly = noiseFigures(noiseOf(document, noiseFrequencies(), kelvin27), { isSource: (name) => name === 'RS' });
    expect(sourceOnly.spotNoiseFigureDb!).toBeGreaterThan(10 * Math.log10(1 + spot / (4 * k * 290 * 2000)) - 1e-3);
    expect(sourceOnly.largest.map(({ component }) => component)).toContain('Q1');
  });

  it('a pnp pair of followers is as noisy on its lower side as on its upper', () => {
    const noise = noiseOf(pushPull(2.6e-3, false), [1000]);
    expectNear(contribution(noise, 'Q1', 'collector shot'), contribution(noise, 'Q2', 'collector shot'), 1e-6);
    expectNear(contribution(noise, 'Q1', 'base shot'), contribution(noise, 'Q2', 'base shot'), 1e-6);
  });
});

describe('other devices', () => {
  const amperesThrough = (noise: CircuitNoise, component: string, mechanism: NoiseMechanism, ohms: number): number => contribution(noise, component, mechanism) / (ohms * ohms);

  it('a diode without bias makes the thermal noise of its slope, with bias 2qI', () => {
    const diode: Part = { kind: 'diode', name: 'D', anode: 'a', cathode: 'ground', saturationAmperes: 1e-9, emissionCoefficient: 1 };
    const hz = 1e5;
    const white = 1 + flickerCornerHz.diode / hz;
    const resting = partsNoise([diode, resistor('R', 'a', 'ground', 1)], ['a', 'ground'], [hz], kelvin27);
    const slope = 1e-9 / ((k * kelvin27) / q);
    expectNear(amperesThrough(resting, 'D', 'diode shot', 1) / white, 4 * k * kelvin27 * slope, 1e-6);
    // 1 mA through it: a current source holds the bias, the slope is the only load.
    const biased = partsNoise([diode, { kind: 'current-source', name: 'I', from: 'ground', to: 'a', amperes: 1e-3 }], ['a', 'ground'], [hz], kelvin27);
    const re = (k * kelvin27) / q / (1e-3 + 1e-9);
    expectNear(biased.density[0]! / white, 2 * q * 1e-3 * re * re, 1e-4);
  });

  it('a channel makes ⅔ of the thermal noise of gm when saturated, all of its slope at rest', () => {
    const channel = (drainVolts: number): CircuitNoise => partsNoise([
      { kind: 'field-effect', name: 'J', drain: 'd', gate: 'g', source: 'ground', channel: 'n', thresholdVolts: -2, betaAmperesPerVolt2: 1e-3, lambdaPerVolt: 0, gateSaturationAmperes: 1e-14 },
      source('VG', 'g', 'ground', -1), source('VD', 'v', 'ground', drainVolts), resistor('RD', 'v', 'd', 1e-3),
    ], ['d', 'ground'], [1e6]);
    const white = 1 + flickerCornerHz.junctionGate / 1e6;
    const conductance = 2 * 1e-3 * 1;
    expectNear(amperesThrough(channel(10), 'J', 'channel', 1e-3) / white, 4 * k * 300 * (2 / 3) * conductance, 1e-5);
    expectNear(amperesThrough(channel(0), 'J', 'channel', 1e-3) / white, 4 * k * 300 * conductance, 1e-5);
    // Reversed gate diodes: 2q IS each.
    expectNear(amperesThrough(channel(10), 'J', 'gate shot', 1e-3), 2 * q * 1e-14, 1e-3);
  });

  it('a triode has an equivalent resistance of 2.5/gm at 290 K, and no more than full shot noise near cut-off', () => {
    const anode = (gridVolts: number): { noise: CircuitNoise; amperes: number; slope: number } => {
      const effective = gridVolts + 250 / 100;
      const perveance = 1.2e-3;
      return {
        noise: partsNoise([
          { kind: 'triode', name: 'V', anode: 'a', grid: 'g', cathode: 'ground', perveance, mu: 100, gridPerveance: null },
          source('VG', 'g', 'ground', gridVolts), source('VA', 'p', 'ground', 250), resistor('RA', 'p', 'a', 1e-3),
        ], ['a', 'ground'], [1e6]),
        amperes: perveance * effective ** 1.5, slope: 1.5 * perveance * Math.sqrt(effective),
      };
    };
    const white = 1 + flickerCornerHz.triode / 1e6;
    const working = anode(-1.5);
    expectNear(amperesThrough(working.noise, 'V', 'anode, reduced shot', 1e-3) / white, 4 * k * 290 * 2.5 * working.slope, 1e-5);
    const nearly = anode(-2.45);
    expectNear(amperesThrough(nearly.noise, 'V', 'anode, reduced shot', 1e-3) / white, 2 * q * nearly.amperes, 1e-4);
  });

  it('a tanh pair makes what two transistors on one tail make', () => {
    // The same pair as two transistors on an ideal tail, collectors into 1 Ω each: the difference of the collectors' voltages is the pair's output current.
    const [tail, volts] = [1e-3, 0.02];
    const vt = (k * kelvin27) / q;
    const device = { forwardBeta: 1e12, earlyVolts: null };
    const two = partsNoise([
      input('x', 'ground', volts), bipolar('Q1', 'npn', ['c1', 'x', 'e'], device), bipolar('Q2', 'npn', ['c2', 'y', 'e'], device), source('V0', 'y', 'ground', 0),
      { kind: 'current-source', name: 'IT', from: 'e', to: 'ground', amperes: tail },
      resistor('R1', 'vp', 'c1', 1), resistor('R2', 'vp', 'c2', 1), source('VP', 'vp', 'ground', 10),
    ], ['c1', 'c2'], [1e6], kelvin27);
    const pair = (scaleVolts: number, more: readonly Part[] = []): CircuitNoise => partsNoise([
      input('x', 'ground', volts), { kind: 'tanh-transconductor', name: 'G', out: ['o', 'ground'], in: ['x', 'ground'], maxAmperes: tail, scaleVolts }, resistor('RO', 'o', 'ground', 1), ...more,
    ], ['o', 'ground'], [1e6], kelvin27);
    const shots = contribution(two, 'Q1', 'collector shot') + contribution(two, 'Q2', 'collector shot');
    expectNear(contribution(pair(2 * vt), 'G', 'input pair') / (1 + flickerCornerHz.tanhPair / 1e6), shots, 1e-5);
  });

  it('emitter resistors in a pair are noisy as they are in two transistors', () => {
    const [tail, emitterOhms] = [1e-3, 500];
    const vt = (k * kelvin27) / q;
    const device = { forwardBeta: 1e12, earlyVolts: null };
    const two = partsNoise([
      input('x'), bipolar('Q1', 'npn', ['c1', 'x', 'e1'], device), bipolar('Q2', 'npn', ['c2', 'y', 'e2'], device), source('V0', 'y', 'ground', 0),
      resistor('RE1', 'e1', 'e', emitterOhms), resistor('RE2', 'e2', 'e', emitterOhms), { kind: 'current-source', name: 'IT', from: 'e', to: 'ground', amperes: tail },
      resistor('R1', 'vp', 'c1', 1), resistor('R2', 'vp', 'c2', 1), source('VP', 'vp', 'ground', 10),
    ], ['c1', 'c2'], [1e6], kelvin27);
    const pair = partsNoise([
      input('x'), { kind: 'tanh-transconductor', name: 'G', out: ['o', 'ground'], in: ['x', 'ground'], maxAmperes: tail, scaleVolts: 2 * vt + emitterOhms * tail }, resistor('RO', 'o', 'ground', 1),
    ], ['o', 'ground'], [1e6], kelvin27);
    const own = two.density[0]! - contribution(two, 'R1', 'thermal') - contribution(two, 'R2', 'thermal');
    expectNear(contribution(pair, 'G', 'input pair') / (1 + flickerCornerHz.tanhPair / 1e6), own, 1e-5);
  });
});

describe('the adjoint network', () => {
  it('gives the transfer that the direct one gives', () => {
    const document = pushPull();
    const system = assembleCircuit(document);
    const point = findOperatingPoint(system);
    const hz = [3, 100, 1e4, 1e6];
    const noise = circuitNoise(document, system, point, { hz });
    exactResponse(system, point, hz).forEach(({ re, im }, index) => {
      const got = noise.transfer![index]!;
      expect(!(Math.hypot(got.re - re, got.im - im) <= 1e-10 * Math.hypot(re, im))).toBe(false);
    });
  });

  it('does so through a core, which stores flux and not current', () => {
    const document = parsedOf([
      input('in'), resistor('RS', 'in', 'a', 600), { kind: 'core', name: 'T1', between: ['a', 'ground'], inductanceHenries: 2, rayleighHenriesPerAmpere: 1800, saturationVoltSeconds: 0.05, gapHenries: null },
      resistor('RL', 'a', 'ground', 10_000), capacitor('CW', 'a', 'ground', 1e-9),
    ], ['a', 'ground']);
    const system = assembleCircuit(document);
    const point = findOperatingPoint(system);
    const noise = circuitNoise(document, system, point, { hz: [20, 1000], temperatureK: 300 });
    exactResponse(system, point, [20, 1000]).forEach(({ re, im }, index) => {
      const got = noise.transfer![index]!;
      expect(!(Math.hypot(got.re - re, got.im - im) <= 1e-9 * Math.hypot(re, im))).toBe(false);
    });
    // 4kT times the real part of 566 Ω beside jω 2 H.
    const parallel = 1 / (1 / 600 + 1 / 10_000);
    const reactance = 2 * Math.PI * 20 * 2;
    expectNear(noise.density[0]!, 4 * k * 300 * ((parallel * reactance * reactance) / (parallel * parallel + reactance * reactance)), 1e-3);
  });

  it('holds where a winding shorts a source at direct current', () => {
    // The loop of two sources and an inductor is redundant at 0 Hz only.
    const parts = [input('a'), inductor('L', 'a', 'ground', 1), resistor('R', 'a', 'b', 1000), resistor('RL', 'b', 'ground', 1000)];
    expectNear(partsNoise(parts, ['b', 'ground'], [1000]).density[0]!, 4 * k * 300 * 500, 1e-9);
  });
});

describe('a band of noise', () => {
  it('integrates white, 1/f and a slope exactly', () => {
    const hz = noiseFrequencies(20, 20_000, 5);
    expectNear(integrateDensity(hz, hz.map(() => 3)), 3 * 19_980, 1e-12);
    expectNear(integrateDensity(hz, hz.map((f) => 7 / f)), 7 * Math.log(1000), 1e-12);
    expectNear(integrateDensity(hz, hz.map((f) => f * f)), (20_000 ** 3 - 20 ** 3) / 3, 1e-12);
    expectNear(densityAt(hz, hz.map((f) => 7 / f), 777), 7 / 777, 1e-12);
  });

  it('frequencies reach from end to end', () => {
    const hz = noiseFrequencies();
    expect([hz[0], hz.at(-1), hz.length]).toEqual([20, 20_000, 73]);
  });

  it('refuses a band that was not looked at', () => {
    const noise = partsNoise([resistor('R', 'a', 'ground', 150)], ['a', 'ground'], [100, 1000]);
    expect(() => noiseFigures(noise)).toThrow('expected frequencies from 20 to 20000 Hz');
  });
});

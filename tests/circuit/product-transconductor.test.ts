// A product of two voltages as a current: power that heats a thermal network (node volts are kelvins), and what the heat does to the circuit.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, buildProgram, CircuitRunner, findOperatingPoint, measuringTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import { DirectSolution } from '../support/direct-solution.ts';
import { compareBackEnds } from './emit/compare-back-ends.ts';
import { unlikeChannels } from './emit/signals.ts';
import { bipolar, expectWithin, largestDifference, rateHz } from './support.ts';

installCompiledCode();
const seed = 20261125;
/** Thermal resistance and capacity: kelvins per watt, joules per kelvin; 20 ms, so that a test need not wait. */
const kelvinsPerWatt = 40;
const joulesPerKelvin = 5e-4;

/** 100 Ω that the input heats through a sensor of 1 Ω: P = v(across) · v(sensor) / 1 Ω. */
const heated = parsedOf([
  input('in'), resistor('R', 'in', 's', 100), resistor('RS', 's', 'ground', 1),
  { kind: 'product-transconductor', name: 'P', out: ['hot', 'ground'], inA: ['in', 's'], inB: ['s', 'ground'], amperesPerVolt2: 1 },
  resistor('RTH', 'hot', 'ground', kelvinsPerWatt), capacitor('CTH', 'hot', 'ground', joulesPerKelvin),
], ['hot', 'ground']);

/** Followers in class AB whose bias drops by 2 mV for each kelvin of the upper one: the loop that keeps, or loses, the quiescent current. */
const thermalPair = (millivoltsPerKelvin: number): CircuitDocument => parsedOf([
  input('d'), source('VB1', 'b1', 'x', 0.64), source('VB2', 'y', 'b2', 0.64),
  // Kelvins above ambient lower the base's own need: base–emitter volts fall, which is the same as bias that rises.
  { kind: 'amplifier', name: 'T1', out: ['x', 'd'], in: ['hot', 'ground'], gain: millivoltsPerKelvin * 1e-3 },
  { kind: 'amplifier', name: 'T2', out: ['d', 'y'], in: ['hot', 'ground'], gain: millivoltsPerKelvin * 1e-3 },
  bipolar('Q1', 'npn', ['vcc', 'b1', 'e1'], { baseOhms: 100 }), bipolar('Q2', 'pnp', ['vee', 'b2', 'e2'], { baseOhms: 100 }),
  resistor('RE1', 'e1', 'out', 10), resistor('RE2', 'out', 'e2', 10), resistor('RL', 'out', 'ground', 600), capacitor('CL', 'out', 'ground', 1e-9),
  { kind: 'product-transconductor', name: 'P', out: ['hot', 'ground'], inA: ['vcc', 'e1'], inB: ['e1', 'out'], amperesPerVolt2: 0.1 },
  resistor('RTH', 'hot', 'ground', 100), capacitor('CTH', 'hot', 'ground', joulesPerKelvin),
  source('VCC', 'vcc', 'ground', 18), source('VEE', 'vee', 'ground', -18),
], ['out', 'ground']);

describe('power that heats', () => {
  it('the temperature at rest is thermal resistance times power', () => {
    const system = assembleCircuit(heated);
    for (const volts of [0, 3, -5]) {
      // P = (v/101 Ω)² · 100 Ω; rounding only.
      expectWithin(findOperatingPoint(system, volts).outputVolts, kelvinsPerWatt * 100 * (volts / 101) ** 2, 1e-12);
    }
  });

  it('a step of power warms by 1 − e^(−t/RC), a tone by its mean and twice its frequency', () => {
    const runner = new CircuitRunner(buildProgram(heated, { rateHz: 48_000 }), 1, measuringTolerance);
    const frames = 2400;
    const wave = new Float64Array(frames).fill(5);
    runner.process([wave], 0, frames);
    const last = kelvinsPerWatt * 100 * (5 / 101) ** 2;
    const seconds = kelvinsPerWatt * joulesPerKelvin;
    // The step comes between rest and the first sample, a sample's width of 10 K/s · 20 µs.
    for (const n of [100, 1000, 2399]) expectWithin(wave[n]!, last * (1 - Math.exp(-(n + 0.5) / 48_000 / seconds)), 2e-3, `sample ${n}`);
  });

  it('agrees with the direct solution at 1/16 of the step, heat fed back into the bias', () => {
    const document = thermalPair(2);
    const signal = (t: number): number => 8 * Math.sin(2 * Math.PI * 500 * t);
    const frames = 1200;
    const wave = Float64Array.from({ length: frames }, (_, n) => signal((n + 1) / rateHz));
    new CircuitRunner(buildProgram(document, { rateHz }), 1, measuringTolerance).process([wave], 0, frames);
    const direct = new DirectSolution(document, { rate: rateHz, substeps: 16 }).rest().run(frames, signal);
    // Second-order steps of 500 Hz at 384 kHz: (ωh)²/12 of 8 V is 45 µV, crossover and the start a few times that.
    expect(largestDifference(wave, direct)).toBeLessThan(1e-3);
  });

  it('raises the quiescent current by 1/(1 − loop gain)', () => {
    const hot = (millivolts: number): number => findOperatingPoint(assembleCircuit(thermalPair(millivolts))).nodeVolts('hot');
    const cold = hot(0);
    // hot = 100 K/W · 18 V · I, and the loop: 100 · 18 · 2 mV/K over re + 10 Ω, re = VT/I. The bend of the exponential is left out: 1 %.
    const quiescentAmperes = cold / (100 * 18);
    const loop = (100 * 18 * 2e-3) / (0.025865 / quiescentAmperes + 10);
    expect(loop).toBeGreaterThan(0.05);
    expectWithin(hot(2) / cold, 1 / (1 - loop), 0.01);
  });
});

describe('the kernel equals the loop to the bit', () => {
  it.each([['heated resistor', heated], ['thermal pair', thermalPair(2)]] as const)('%s', (_, document) => {
    for (const peak of [2, 100]) {
      const { difference, report } = compareBackEnds(buildProgram(document, { rateHz, rule: 'T12' }), unlikeChannels(900, peak, seed), { instanceIndex: 1 });
      expect(difference).toBeNull();
      expect([...report.capHits, ...report.nonFinite]).toEqual([0, 0, 0, 0]);
    }
  });
});

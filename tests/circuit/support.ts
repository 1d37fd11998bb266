// Circuits the tests of the circuit core share, written by hand with values of ordinary audio electronics.
import { expect } from 'vitest';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';

import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';

export const bipolar = (name: string, polarity: 'npn' | 'pnp', [collector, base, emitter]: readonly [string, string, string], more: Part = {}): Part => ({
  kind: 'bipolar', name, polarity, collector, base, emitter, saturationAmperes: 1e-14, forwardBeta: 300, reverseBeta: 1, earlyVolts: 100, ...more,
});

/** Bipolar common emitter, 24 V, partly bypassed emitter: 2 controls, 4 states. */
export function commonEmitter(changes: { collectorOhms?: number; bypassFarads?: number; inputFarads?: number; outputFarads?: number; emitterOhms?: number } = {}): CircuitDocument {
  const { collectorOhms = 2200, bypassFarads = 1000e-6, inputFarads = 22e-6, outputFarads = 47e-6, emitterOhms = 220 } = changes;
  return parsedOf([
    input('in'), resistor('RS', 'in', 'a', 600), capacitor('CI', 'a', 'b', inputFarads),
    resistor('RB1', 'vcc', 'b', 47e3), resistor('RB2', 'b', 'ground', 9100),
    bipolar('Q1', 'npn', ['c', 'b', 'e']),
    resistor('RE1', 'e', 'e2', emitterOhms), resistor('RE2', 'e2', 'ground', 390), capacitor('CE', 'e2', 'ground', bypassFarads),
    resistor('RC', 'vcc', 'c', collectorOhms), capacitor('CO', 'c', 'out', outputFarads),
    resistor('RL', 'out', 'ground', 10e3), capacitor('CL', 'out', 'ground', 1e-9), source('VCC', 'vcc', 'ground', 24),
  ], ['out', 'ground']);
}

const kTq27 = 0.0258649;

/** Complementary followers, ±18 V into 600 Ω: 4 controls; `couplingFarads` adds a coupling capacitor and a load capacitance (2 states). */
export function pushPull(quiescentAmperes = 2.6e-3, reactive = true): CircuitDocument {
  const spread = 2 * (kTq27 * Math.log(quiescentAmperes / 1.18e-14) + quiescentAmperes * 10 * (1 + 1 / 200) + (quiescentAmperes * 10) / 200);
  const device = { forwardBeta: 200, baseOhms: 10 };
  return parsedOf([
    input('in'), resistor('RS', 'in', reactive ? 'a' : 'd', 50),
    ...(reactive ? [capacitor('CI', 'a', 'd', 100e-6), resistor('RD', 'd', 'ground', 10e3)] : []),
    source('VB1', 'b1', 'd', spread / 2), source('VB2', 'd', 'b2', spread / 2),
    bipolar('Q1', 'npn', ['vcc', 'b1', 'e1'], device), bipolar('Q2', 'pnp', ['vee', 'b2', 'e2'], device),
    resistor('RE1', 'e1', 'out', 10), resistor('RE2', 'out', 'e2', 10),
    resistor('RL', 'out', 'ground', 600), ...(reactive ? [capacitor('CL', 'out', 'ground', 1e-9)] : []),
    source('VCC', 'vcc', 'ground', 18), source('VEE', 'vee', 'ground', -18),
  ], ['out', 'ground']);
}

/** Op-amp loop, noise gain 2: tanh pair of 30 µA, 30 pF compensation round an ideal second stage, push-pull output into 600 Ω. GBW 3.08 MHz. */
export function opAmpLoop(loadOhms = 600, compensationFarads = 30e-12): CircuitDocument {
  const quiescent = 100e-6;
  const spread = 2 * kTq27 * Math.log(quiescent / 1e-15) + 2 * quiescent * 25;
  const device = { saturationAmperes: 1e-15, forwardBeta: 120, baseOhms: 100 };
  return parsedOf([
    input('p'), { kind: 'tanh-transconductor', name: 'G1', out: ['ground', 'x'], in: ['p', 'n'], maxAmperes: 30e-6, scaleVolts: 2 * kTq27 },
    resistor('RX', 'x', 'ground', 1e6), capacitor('CC', 'x', 'y', compensationFarads),
    { kind: 'amplifier', name: 'A2', out: ['y', 'ground'], in: ['ground', 'x'], gain: 200 },
    resistor('RY', 'y', 'd', 50), source('VB1', 'b1', 'd', spread / 2), source('VB2', 'd', 'b2', spread / 2),
    bipolar('Q1', 'npn', ['vcc', 'b1', 'e1'], device), bipolar('Q2', 'pnp', ['vee', 'b2', 'e2'], device),
    resistor('RE1', 'e1', 'out', 25), resistor('RE2', 'out', 'e2', 25), resistor('RL', 'out', 'ground', loadOhms),
    resistor('RF', 'out', 'n', 2200), resistor('RG', 'n', 'ground', 2200), capacitor('CF', 'n', 'ground', 5e-12), capacitor('CL', 'out', 'ground', 100e-12),
    source('VCC', 'vcc', 'ground', 15), source('VEE', 'vee', 'ground', -15),
  ], ['out', 'ground']);
}

/** Two npn emitters on an ideal 1 mA tail: the emitters' node is touched by device currents alone. Output between the collectors. */
export function idealTailPair(): CircuitDocument {
  const ideal = { forwardBeta: 1e9, earlyVolts: null };
  return parsedOf([
    input('in'), resistor('RS', 'in', 'b1', 1),
    bipolar('Q1', 'npn', ['c1', 'b1', 'e'], ideal), bipolar('Q2', 'npn', ['c2', 'ground', 'e'], ideal),
    { kind: 'current-source', name: 'IT', from: 'e', to: 'vee', amperes: 1e-3 }, source('VEE', 'vee', 'ground', -15),
    resistor('RC1', 'vcc', 'c1', 5000), resistor('RC2', 'vcc', 'c2', 5000), source('VCC', 'vcc', 'ground', 15),
    capacitor('CD', 'c1', 'c2', 10e-12),
  ], ['c2', 'c1']);
}

export const rateHz = 384_000;

/** Fails with both sides in words; NaN fails. */
export function expectWithin(actual: number, expected: number, limit: number, what = ''): void {
  expect(!(Math.abs(actual - expected) <= limit) ? `${what} got ${actual}, expected ${expected}, limit ${limit}` : 'within').toBe('within');
}

/** Largest difference of two waves, volts; NaN if there is one in either. */
export function largestDifference(a: ArrayLike<number>, b: ArrayLike<number>): number {
  expect(a.length).toBe(b.length);
  let largest = 0;
  for (let k = 0; k < a.length; k += 1) {
    const difference = Math.abs(a[k]! - b[k]!);
    if (!(difference <= largest)) largest = difference;
  }
  return largest;
}

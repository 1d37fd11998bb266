// Published rows of resonance and line capacitance (CHECKS.md, section 5) through circuit documents and the exact response.
import { describe, it } from 'vitest';
import { exactResponse, findOperatingPoint } from '../../dsp/circuit/index.ts';
import { check, checksOf, expectWithin, numberInput } from '../reference/checks.ts';
import { capacitor, inductor, input, resistor, systemOf } from '../support/circuits.ts';
import { crossing, peakOf } from '../support/measured.ts';

interface Resonance {
  /** Where the output lags by a quarter turn. */
  readonly resonantHz: number;
  /** Gain there over the gain at 0 Hz. */
  readonly q: number;
  readonly peakHz: number;
  readonly peakDb: number;
  readonly passbandDb: number;
  /** Relative to 0 Hz. */
  relativeDb(hz: number): number;
}

/** Series resistance, leakage inductance, line capacitance, load (Infinity: open), as measured on the circuit. */
function resonance(seriesOhms: number, henries: number, farads: number, loadOhms: number): Resonance {
  const parts = [input('a'), resistor('RS', 'a', 'b', seriesOhms), inductor('LS', 'b', 'o', henries), capacitor('CL', 'o', 'ground', farads)];
  if (loadOhms < Infinity) parts.push(resistor('RL', 'o', 'ground', loadOhms));
  const system = systemOf(parts, ['o', 'ground']);
  const point = findOperatingPoint(system);
  const at = (hz: number): { re: number; im: number } => exactResponse(system, point, [hz])[0]!;
  const passband = Math.hypot(at(0).re, at(0).im);
  const gain = (hz: number): number => Math.hypot(at(hz).re, at(hz).im) / passband;
  const estimate = 1 / (2 * Math.PI * Math.sqrt(henries * farads));
  // The real part falls through zero at the resonance, nearly straight in the square of the frequency.
  const resonantHz = Math.sqrt(crossing((squared) => at(Math.sqrt(squared)).re, 0.5 * estimate ** 2, 2 * estimate ** 2, 1e-11 * estimate ** 2));
  const peakHz = peakOf(gain, 0.02 * estimate, 1.5 * estimate, 1e-9 * estimate);
  return {
    resonantHz, q: gain(resonantHz), peakHz, peakDb: 20 * Math.log10(gain(peakHz)), passbandDb: 20 * Math.log10(passband),
    relativeDb: (hz) => 20 * Math.log10(gain(hz)),
  };
}

/** Series resistance at which the peak has this height. */
function resistanceForPeak(peakDb: number, henries: number, farads: number, loadOhms: number): number {
  const characteristic = Math.sqrt(henries / farads);
  return crossing((ohms) => resonance(ohms, henries, farads, loadOhms).peakDb - peakDb, 0.4 * characteristic, 1.3 * characteristic, 1e-9 * characteristic);
}

describe('resonance of R, L and C', () => {
  it.each(checksOf('RLC-Q'))('$id', (entry) => {
    const [henries, farads] = [1e-3, 1e-8];
    const found = resonance(resistanceForPeak(numberInput(entry, 'peak_dB'), henries, farads, Infinity), henries, farads, Infinity);
    expectWithin(entry, [found.q, found.peakHz / found.resonantHz, found.relativeDb(found.resonantHz)]);
  });

  it('RLC-FLAT: no peak, and the least loss at 0.4 of the resonance of all that have none', () => {
    const characteristic = Math.sqrt(1e-3 / 1e-8);
    // At the boundary |H|^-2 − 1 is (f/f0)^4 alone: the factor of (f/f0)², read at a low frequency, crosses zero.
    const squareTerm = (ohms: number): number => {
      const found = resonance(ohms, 1e-3, 1e-8, Infinity);
      const x = 0.01;
      return (10 ** (-found.relativeDb(x * found.resonantHz) / 10) - 1) / (x * x) - x * x;
    };
    const found = resonance(crossing(squareTerm, characteristic, 2 * characteristic, 1e-9 * characteristic), 1e-3, 1e-8, Infinity);
    expectWithin(check('RLC-FLAT'), [found.q, found.relativeDb(found.resonantHz)]);
  });
});

describe('transformer leakage and line', () => {
  it.each(checksOf('LINE-L').filter(({ id }) => id !== 'LINE-LUMPED'))('$id', (entry) => {
    const [henries, farads] = [numberInput(entry, 'L_H'), numberInput(entry, 'C_F')];
    const ohms = resistanceForPeak(1.5, henries, farads, Infinity);
    const found = resonance(ohms, henries, farads, Infinity);
    expectWithin(entry, [found.resonantHz, 2 * Math.PI * found.resonantHz * henries, ohms, found.peakHz, found.relativeDb(20e3)]);
  });

  it.each(checksOf('LINE-FULL'))('$id', (entry) => {
    const found = resonance(numberInput(entry, 'Rs_ohm'), numberInput(entry, 'L_H'), numberInput(entry, 'C_F'), numberInput(entry, 'RL_ohm'));
    expectWithin(entry, [found.resonantHz, found.q, found.peakDb, found.peakHz, found.passbandDb, ...[1e3, 10e3, 20e3, 40e3].map((hz) => found.relativeDb(hz))]);
  });

  it('LINE-RS-10k', () => {
    const entry = check('LINE-RS-10k');
    expectWithin(entry, resistanceForPeak(1.5, numberInput(entry, 'L_H'), numberInput(entry, 'C_F'), numberInput(entry, 'RL_ohm')));
  });
});

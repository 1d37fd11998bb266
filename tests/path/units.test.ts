import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseQuantity } from '../../dsp/path/parse-quantity.ts';
import { dbuReferenceVolts, levelKin, speakQuantity, splitQuantity, unitsOf, voltsToDbu, writeQuantity } from '../../dsp/path/units.ts';
import type { Quantity } from '../../dsp/stages/contract.ts';

const quantities = Object.keys(unitsOf) as Quantity[];
const withPrefix: Quantity[] = ['resistance', 'capacitance', 'inductance', 'current', 'frequency', 'time', 'voltage'];

function read(text: string, quantity: Quantity, unit: string = unitsOf[quantity][0]): number {
  const parsed = parseQuantity(text, { quantity, unit, fullScaleDbu: 24 });
  if (!parsed.ok) throw new Error(parsed.sentence);
  return parsed.value;
}

describe('writing', () => {
  it.each([
    [4700, 'resistance', '4.7 kΩ'], [0.47, 'resistance', '470 mΩ'], [999.96, 'resistance', '1 kΩ'], [999.9e6, 'resistance', '999.9 MΩ'],
    [2.2e-9, 'capacitance', '2.2 nF'], [220e-6, 'capacitance', '220 µF'], [0, 'capacitance', '0 F'], [1.23456e-12, 'capacitance', '1.235 pF'],
    [1e-14, 'current', '0.01 pA'], [1e-16, 'current', '1e-16 A'], [-0.0021, 'current', '−2.1 mA'], [200, 'frequency', '200 Hz'], [20000, 'frequency', '20 kHz'],
    [4, 'level', '+4 dBu'], [-62.14, 'gain', '−62.14 dB'], [0, 'gain', '0 dB'], [-60, 'harmonic-amount', '−60 dB'],
    [24, 'voltage', '24 V'], [300, 'ratio', '300'], [1e12, 'ratio', '1e12'], [0.7071, 'quality', '0.7071'], [26.85, 'temperature', '26.85 °C'],
  ] as const)('%d as %s: %s', (value, quantity, text) => {
    expect(writeQuantity(value, quantity, unitsOf[quantity][0])).toBe(text);
  });

  it.each([
    [4700, 'resistance', '4.7 kilohm'], [1e6, 'resistance', '1 megohm'], [1e-5, 'capacitance', '10 microfarad'], [0.01, 'time', '10 millisecond'],
    [-60, 'gain', 'minus 60 decibel'], [4, 'level', 'plus 4 dBu'], [300, 'ratio', '300'], [25, 'temperature', '25 degrees Celsius'],
  ] as const)('%d as %s is spoken "%s"', (value, quantity, text) => {
    expect(speakQuantity(value, quantity, unitsOf[quantity][0])).toBe(text);
  });

  it('puts 1 to 999.9 before the unit and at most four digits', () => {
    fc.assert(fc.property(fc.constantFrom(...withPrefix), fc.double({ min: 1e-12, max: 9.99e11, noNaN: true }), (quantity, value) => {
      const { figure } = splitQuantity(value, quantity, unitsOf[quantity][0]);
      return Number(figure) >= 1 && Number(figure) < 1000 && figure.replace('.', '').length <= 4;
    }), { seed: 20261125 });
  });

  it('says what a level is called elsewhere', () => {
    expect(levelKin(4, 24)).toBe('+4 dBu = 1.228 V rms = 1.736 V pk = −20 dBFS at +24');
    expect(levelKin(6, 24)).toContain('1.546 V rms');
    expect(levelKin(6, 24)).toContain('−18 dBFS at +24');
  });

  // 1 mW in 600 ohm: 0.774597 V; 1 V is 2.218487 dB above it (IEC 60268-17 gives 0.775 V, rounded).
  it('takes 0 dBu at the root of 0.6 volts', () => {
    expect(dbuReferenceVolts).toBeCloseTo(0.7745966692414834, 15);
    expect(voltsToDbu(1)).toBeCloseTo(2.218487496163563, 12);
  });
});

describe('writing and reading again', () => {
  it('reads every quantity back within the four digits written', () => {
    fc.assert(fc.property(
      fc.constantFrom(...quantities), fc.double({ min: -1e9, max: 1e9, noNaN: true }), fc.integer({ min: -15, max: 0 }), (quantity, number, power) => {
        const value = withPrefix.includes(quantity) ? number * 10 ** power : number;
        const written = writeQuantity(value, quantity, unitsOf[quantity][0]);
        const again = read(written, quantity);
        return Math.abs(again - value) <= 5.1e-4 * Math.abs(value) && writeQuantity(again, quantity, unitsOf[quantity][0]) === written;
      }), { seed: 20261125, numRuns: 500 });
  });

  it('reads a figure of four digits back to the bit', () => {
    fc.assert(fc.property(fc.constantFrom(...withPrefix), fc.integer({ min: 1, max: 9999 }), fc.integer({ min: -14, max: 7 }), (quantity, digits, power) => {
      const value = Number(`${digits}e${power}`);
      return read(writeQuantity(value, quantity, unitsOf[quantity][0]), quantity) === value;
    }), { seed: 20261125, numRuns: 500 });
  });
});

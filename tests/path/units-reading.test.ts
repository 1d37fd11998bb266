import { describe, expect, it } from 'vitest';
import { parseQuantity, readEntry } from '../../dsp/path/parse-quantity.ts';
import { unitsOf } from '../../dsp/path/units.ts';
import type { NumberParameter, Quantity } from '../../dsp/stages/contract.ts';

function read(text: string, quantity: Quantity, unit: string = unitsOf[quantity][0]): number | string {
  const parsed = parseQuantity(text, { quantity, unit, fullScaleDbu: 24 });
  return parsed.ok ? parsed.value : parsed.sentence;
}

describe('reading', () => {
  it.each([
    ['4k7', 4700], ['4K7', 4700], ['4.7 kΩ', 4700], ['4,7 k', 4700], ['4.7k\u2126', 4700], ['4.7\u00a0kΩ', 4700], ['4.7\u202fk Ω', 4700], ['R47', 0.47], ['4R7', 4.7],
    ['47R', 47], ['4Ω7', 4.7], ['1M', 1e6], ['1m', 0.001], ['2M2', 2.2e6], ['4.7 kohm', 4700], ['47 Ohms', 47], ['1e3', 1000], ['1E-3 k', 1], ['4700', 4700], ['.5', 0.5],
    ['4k7 Ω', 4700], ['  680 ', 680], ['1,0', 1], ['0,001 k', 1], ['1.000 k', 1000],
  ])('%s is %d ohm', (text, ohms) => expect(read(text, 'resistance')).toBe(ohms));

  it.each<[string, Quantity, number]>([
    ['2n2', 'capacitance', 2.2e-9], ['2n2 F', 'capacitance', 2.2e-9], ['10u', 'capacitance', 1e-5], ['10 µF', 'capacitance', 1e-5], ['10 \u03bcF', 'capacitance', 1e-5], ['47p', 'capacitance', 47e-12],
    ['1F5', 'capacitance', 1.5], ['1H5', 'inductance', 1.5], ['4m7', 'inductance', 4.7e-3], ['2.5 mA', 'current', 2.5e-3], ['2A5', 'current', 2.5], ['1k5', 'frequency', 1500], ['20 khz', 'frequency', 20000],
    ['5m', 'time', 0.005], ['5 ms', 'time', 0.005], ['5V1', 'voltage', 5.1], ['-12', 'voltage', -12], ['−12 V', 'voltage', -12], ['300 m', 'length', 300], ['300', 'length', 300], ['100 pF/m', 'capacitance-per-length', 1e-10], ['100p', 'capacitance-per-length', 1e-10], ['35 mΩ/m', 'resistance-per-length', 0.035], ['0.71', 'quality', 0.71], ['300', 'ratio', 300], ['25 °C', 'temperature', 25], ['25C', 'temperature', 25],
    ['+4', 'level', 4], ['-20 dBFS', 'level', 4], ['0 dBu', 'level', 0], ['-6 db', 'gain', -6], ['-60', 'harmonic-amount', -60],
  ])('%s as %s is %d', (text, quantity, value) => expect(read(text, quantity)).toBe(value));

  // 0 dBV is 1 V rms; 0 dBu is √0.6 V rms; a sine's peak is √2 and its peak to peak 2√2 times its rms.
  it.each([['0 dBV', 2.218487496163563], ['1 V', 2.218487496163563], ['1000 mV rms', 2.218487496163563], ['1V0 pk', 2.218487496163563 - 3.010299956639812], ['1 V pp', 2.218487496163563 - 9.030899869919436]])(
    'the level %s is %d dBu', (text, dbu) => expect(read(text, 'level')).toBeCloseTo(dbu, 11));

  it('takes 0.1 % as −60 dB', () => expect(read('0.1 %', 'harmonic-amount')).toBeCloseTo(-60, 11));

  it('gives a number without letters the printed unit, and one with letters its own', () => {
    expect(read('5.6', 'resistance', 'kΩ')).toBe(5600);
    expect(read('5k6', 'resistance', 'kΩ')).toBe(5600);
    expect(read('5.6 Ω', 'resistance', 'kΩ')).toBe(5.6);
    expect(read('1e3', 'resistance', 'kΩ')).toBe(1000);
    expect(read('10', 'capacitance', 'µF')).toBe(1e-5);
    expect(read('0.1', 'harmonic-amount', '%')).toBeCloseTo(-60, 11);
    expect(read('2', 'ratio', 'A/V²')).toBe(2);
    expect(read('2 A/V²', 'ratio', 'A/V²')).toBe(2);
  });

  it('echoes what it read', () => {
    expect(parseQuantity('4k7', { quantity: 'resistance', unit: 'Ω', fullScaleDbu: 24 })).toEqual({ ok: true, value: 4700, echo: '= 4.7 kΩ' });
    expect(parseQuantity('−0', { quantity: 'gain', unit: 'dB', fullScaleDbu: 24 })).toEqual({ ok: true, value: 0, echo: '= 0 dB' });
  });
});

function parameter(designator: string, quantity: Quantity, minimum: number, maximum: number): NumberParameter {
  return {
    kind: 'number', id: designator.toLowerCase(), designator, label: designator, shortLabel: designator, spokenLabel: designator, help: '', quantity,
    unit: unitsOf[quantity][0], minimum, maximum, default: minimum, taper: 'linear', step: 1,
  };
}

const rc = parameter('RC', 'resistance', 1, 1e7);
const cin = parameter('CIN', 'capacitance', 1e-12, 1e-3);
const level = parameter('level', 'level', -60, 30);
const gain = parameter('drive', 'gain', -40, 40);
const amount = parameter('second', 'harmonic-amount', -120, -20);
const quality = parameter('Q', 'quality', 0.1, 10);
const frequency = parameter('fc', 'frequency', 10, 1e6);

/** Twenty entries that must not become a value, with what is said. */
const refusals: [string, NumberParameter, number, string][] = [
  ['4x7', rc, 4700, 'RC: "4x7" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.'],
  ['10 F', cin, 1e-5, 'CIN: 10 F is above 1 mF. Did you mean 10 µF?'],
  ['', rc, 4700, 'RC: nothing was written. Kept 4.7 kΩ.'],
  ['1,000', rc, 4700, 'RC: "1,000" is ambiguous, for a comma is the decimal sign here; write 1000 or 1.000. Kept 4.7 kΩ.'],
  ['12,500 Ω', rc, 4700, 'RC: "12,500 Ω" is ambiguous, for a comma is the decimal sign here; write 12500 or 12.500. Kept 4.7 kΩ.'],
  ['1.2.3', rc, 4700, 'RC: "1.2.3" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.'],
  ['1 000', rc, 4700, 'RC: "1 000" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.'],
  ['k', rc, 4700, 'RC: "k" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.'],
  ['--5', rc, 4700, 'RC: "--5" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.'],
  ['4.7 µF', rc, 4700, 'RC: "4.7 µF" is in F; a resistance is written in Ω. Kept 4.7 kΩ.'],
  ['5V1', frequency, 1000, 'fc: "5V1" is in V; a frequency is written in Hz. Kept 1 kHz.'],
  ['4k7k', rc, 4700, 'RC: "4k7k" has a mark and a prefix; write one of them. Kept 4.7 kΩ.'],
  ['-5', rc, 4700, 'RC: −5 Ω is below 1 Ω. Kept 4.7 kΩ.'],
  ['1e999', rc, 4700, 'RC: "1e999" is too large to compute with. Kept 4.7 kΩ.'],
  ['4 kdB', gain, 6, 'drive: "4 kdB" has a prefix, and dB takes none. Kept +6 dB.'],
  ['3k', gain, 6, 'drive: "3k" has a prefix; a gain is written in dB. Kept +6 dB.'],
  ['50 %', gain, 6, 'drive: "50 %" is in %; a gain is written in dB. Kept +6 dB.'],
  ['0 V', level, 4, 'level: "0 V" has no level in decibels; write a voltage above zero. Kept +4 dBu.'],
  ['4 dBv', level, 4, 'level: "4 dBv" may mean dBu or dBV; write one of them. Kept +4 dBu.'],
  ['4 dB', level, 4, 'level: "4 dB" is in dB; a level is written in dBu, dBV, dBFS, V, V pk or V pp. Kept +4 dBu.'],
  ['-1 %', amount, -60, 'second: "-1 %" has no level in decibels; write a percentage above zero. Kept −60 dB.'],
  ['0.7 Hz', quality, 0.7, 'Q: "0.7 Hz" is in Hz; a quality factor has no unit. Kept 0.7.'],
  ['20', quality, 0.7, 'Q: 20 is above 10. Kept 0.7.'],
  ['10 mHz', frequency, 2e5, 'fc: 10 mHz is below 10 Hz. Did you mean 10 kHz?'],
  ['NaN', rc, 4700, 'RC: "NaN" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.'],
];

describe('refusing', () => {
  it.each(refusals)('%j', (text, of, kept, sentence) => {
    expect(readEntry(text, { parameter: of, kept, fullScaleDbu: 24 })).toEqual({ ok: false, sentence });
  });

  it('takes the limits themselves', () => {
    expect(readEntry('1 mF', { parameter: cin, kept: 1e-5, fullScaleDbu: 24 })).toMatchObject({ ok: true, value: 1e-3 });
    expect(readEntry('1', { parameter: rc, kept: 4700, fullScaleDbu: 24 })).toMatchObject({ ok: true, value: 1 });
    expect(readEntry('5', { parameter: rc, kept: 4700, printedUnit: 'kΩ', fullScaleDbu: 24 })).toEqual({ ok: true, value: 5000, echo: '= 5 kΩ' });
  });
});

import { describe, expect, it } from 'vitest';
import { nameOf, writeComputed } from '../../ui/documents/value-words.ts';
import { headingOf, writeValue } from '../../dsp/path/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import type { NumberParameter, Parameter } from '../../dsp/stages/index.ts';
import { kinOf, plainNumber, usefulPrefixes, valueText } from '../../ui/page/elements/value-words.ts';

const parameterOf = (stage: string, id: string): Parameter => stageById(stage).parameters.find((parameter) => parameter.id === id)!;
const coupling = parameterOf('single-ended-bipolar', 'inputCouplingFarads') as NumberParameter;
const drive = parameterOf('single-ended-bipolar', 'driveDb') as NumberParameter;
const law = parameterOf('harmonic-shaping', 'law');
const reference = parameterOf('harmonic-shaping', 'referenceDbu') as NumberParameter;

describe('a value in words', () => {
  it('has a name, a heading, and says that it changed', () => {
    expect([nameOf(coupling), headingOf(coupling), nameOf(drive), headingOf(drive)]).toEqual(['CIN, input coupling', 'CIN', 'drive', 'drive']);
    expect(valueText(coupling.default, coupling)).toBe('22 microfarad');
    expect(valueText(1e-5, coupling)).toBe('10 microfarad, changed, default 22 microfarad');
    expect(valueText(-6, drive)).toBe('minus 6 decibel, changed, default 0 decibel');
  });

  it('is written with its unit, a choice by its label', () => {
    expect([writeValue(1e-5, coupling), writeValue('held', law)]).toEqual(['10 µF', 'held over level']);
  });

  it('has kin only when it is a level', () => {
    expect(kinOf(4, reference, 22)).toContain('−18 dBFS at +22');
    expect(kinOf(6, drive, 24)).toBe('');
  });

  it.each([[1e-9, '0.000000001'], [4.7e-12, '0.0000000000047'], [1e-14, '0.00000000000001'], [4700, '4700'], [-0.5, '-0.5'], [0, '0']])(
    '%d goes to the accessibility tree without an exponent', (value, text) => expect(plainNumber(value)).toBe(text));

  it('offers the prefixes that its range can use, and none for decibels', () => {
    expect(usefulPrefixes(coupling)).toEqual(['n', 'µ', 'm']);
    expect(usefulPrefixes(parameterOf('push-pull', 'emitterOhms') as NumberParameter)).toEqual(['m', '']);
    expect(usefulPrefixes(drive)).toEqual([]);
  });
});

describe('a computed figure', () => {
  it.each([
    [-0.3849, 'level', 'dBFS', '−0.4 dBFS'], [23.615, 'level', 'dBu', '+23.6 dBu'], [-0.02, 'gain', 'dB', '0.0 dB'], [0, 'gain', 'dB', '0.0 dB'],
    [1.4, 'voltage', 'V', '1.40 V'], [0.00150012, 'voltage', 'V', '1.50 mV'], [0, 'voltage', 'V', '0 V'], [-14.234, 'voltage', 'V', '−14.2 V'],
    [1.5e-4, 'current', 'A', '150 µA'], [2.613e-3, 'current', 'A', '2.61 mA'], [162_930, 'resistance', 'Ω', '163 kΩ'], [10, 'resistance', 'Ω', '10.0 Ω'],
    [-4.0492, 'ratio', '°', '−4.05°'], [2.5, 'ratio', 'mA/V', '2.50 mA/V'], [-Infinity, 'gain', 'dB', 'none dB'],
  ] as const)('%d, %s, is written with %s as it can be used: "%s"', (value, quantity, unit, words) => {
    expect(writeComputed(value, quantity, unit)).toBe(words);
  });
});

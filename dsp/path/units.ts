/**
 * Units of the bench's quantities, how a value is written and spoken, and the kin of a level.
 * Prefixes are those of the SI; a written figure has at most four significant digits, the value itself stays exact.
 */
import { decibelsToRatio, ratioToDecibels } from '../math/index.ts';
import type { Quantity } from '../stages/contract.ts';

/** 0 dBu: one milliwatt in 600 ohm, √0.6 volts rms. */
export const dbuReferenceVolts = Math.sqrt(0.6);

/** A unit a text may carry, in its one canonical spelling. */
export type Unit = 'Ω' | 'F' | 'H' | 'A' | 'Hz' | 's' | 'V' | 'V pk' | 'V pp' | 'dB' | 'dBu' | 'dBV' | 'dBFS' | '%' | '°C' | 'm' | 'Ω/m' | 'F/m' | '';

/** What each quantity understands; the first is its base unit, in which values are kept. "V" in a level is rms. */
export const unitsOf: Readonly<Record<Quantity, readonly [Unit, ...Unit[]]>> = {
  resistance: ['Ω'], capacitance: ['F'], inductance: ['H'],
  current: ['A'], frequency: ['Hz'], time: ['s'],
  level: ['dBu', 'dBV', 'dBFS', 'V', 'V pk', 'V pp'],
  gain: ['dB'], 'harmonic-amount': ['dB', '%'],
  voltage: ['V'], ratio: [''], quality: [''], temperature: ['°C'],
  length: ['m'], 'resistance-per-length': ['Ω/m'], 'capacitance-per-length': ['F/m'],
};

const prefixSymbols: Readonly<Record<number, string>> = { [-12]: 'p', [-9]: 'n', [-6]: 'µ', [-3]: 'm', 0: '', 3: 'k', 6: 'M', 9: 'G' };
const prefixWords: Readonly<Record<string, string>> = { p: 'pico', n: 'nano', µ: 'micro', m: 'milli', k: 'kilo', M: 'mega', G: 'giga' };
const unitWords: Readonly<Record<string, string>> = {
  Ω: 'ohm', F: 'farad', H: 'henry', A: 'ampere', Hz: 'hertz', s: 'second', V: 'volt', dB: 'decibel', '%': 'percent', '°C': 'degrees Celsius',
  m: 'metre', 'Ω/m': 'ohm per metre', 'F/m': 'farad per metre',
};
const unitsWithPrefix: ReadonlySet<string> = new Set(['Ω', 'F', 'H', 'A', 'Hz', 's', 'V', 'V pk', 'V pp', 'Ω/m', 'F/m']);

/** Power of ten of a prefix letter, null for any other text. K is k; m and M differ. */
export function prefixPower(letter: string): number | null {
  switch (letter) {
    case 'p': return -12;
    case 'n': return -9;
    case 'u': case '\u00b5': case '\u03bc': return -6;
    case 'm': return -3;
    case 'k': case 'K': return 3;
    case 'M': return 6;
    case 'G': return 9;
    default: return null;
  }
}

/** Whether a unit takes prefixes: ohms do, decibels do not. */
export function takesPrefix(unit: string): boolean {
  return unitsWithPrefix.has(unit);
}

/** Decimal digits of |value| rounded to four significant ones, trailing zeros gone, and the power of ten of the first. */
function fourDigits(magnitude: number): { digits: string; power: number } {
  const [mantissa, power] = magnitude.toExponential(3).split('e') as [string, string];
  return { digits: mantissa.replace('.', '').replace(/0+$/, ''), power: Number(power) };
}

/** Digits with the point after `whole` of them (whole may be ≤ 0). */
function placePoint(digits: string, whole: number): string {
  if (whole <= 0) return `0.${'0'.repeat(-whole)}${digits}`;
  if (digits.length <= whole) return digits + '0'.repeat(whole - digits.length);
  return `${digits.slice(0, whole)}.${digits.slice(whole)}`;
}

function exponential(digits: string, power: number): string {
  return `${placePoint(digits, 1)}e${power}`;
}

/**
 * A value as figure and printed unit: 4700, 'resistance', 'Ω' → { figure: '4.7', unit: 'kΩ' }; the prefix puts 1–999 before the unit.
 * Levels, gains and amounts carry their sign; figures beyond the prefixes use an exponent. Non-finite values read as words.
 */
export function splitQuantity(value: number, quantity: Quantity, unit: string): { readonly figure: string; readonly unit: string } {
  if (!Number.isFinite(value)) return { figure: Number.isNaN(value) ? 'unknown' : value > 0 ? 'endless' : 'none', unit };
  const signed = quantity === 'level' || quantity === 'gain' || quantity === 'harmonic-amount';
  const { digits, power } = fourDigits(Math.abs(value));
  if (digits === '') return { figure: '0', unit };
  const sign = value < 0 ? '−' : signed ? '+' : '';
  if (!takesPrefix(unit)) {
    const plain = power >= -4 && power <= 5;
    return { figure: sign + (plain ? placePoint(digits, power + 1) : exponential(digits, power)), unit };
  }
  if (power < -15 || power > 12) return { figure: sign + exponential(digits, power), unit };
  const scale = Math.min(9, Math.max(-12, Math.floor(power / 3) * 3));
  return { figure: sign + placePoint(digits, power - scale + 1), unit: prefixSymbols[scale]! + unit };
}

/** "4.7 kΩ", "+4 dBu", "−62.1 dB", "300". At most four significant digits. */
export function writeQuantity(value: number, quantity: Quantity, unit: string): string {
  const split = splitQuantity(value, quantity, unit);
  return split.unit === '' ? split.figure : `${split.figure} ${split.unit}`;
}

/** The same for the ear: "4.7 kilohm", "minus 62.1 decibel", "plus 4 dBu". */
export function speakQuantity(value: number, quantity: Quantity, unit: string): string {
  const split = splitQuantity(value, quantity, unit);
  const figure = split.figure.replace('−', 'minus ').replace('+', 'plus ');
  return split.unit === '' ? figure : `${figure} ${speakUnit(split.unit, unit)}`;
}

function speakUnit(printed: string, base: string): string {
  const word = unitWords[base];
  if (word === undefined) return printed;
  const prefix = prefixWords[printed.slice(0, printed.length - base.length)] ?? '';
  // Kilohm and megohm drop a vowel before "ohm" (ISO 80000-1, 6.5.4, from memory).
  return base === 'Ω' && (prefix === 'kilo' || prefix === 'mega') ? prefix.slice(0, -1) + word : prefix + word;
}

/** Volts rms of a level. */
export function dbuToVolts(levelDbu: number): number {
  return dbuReferenceVolts * decibelsToRatio(levelDbu);
}

/** Level of volts rms; −∞ for zero, NaN below. */
export function voltsToDbu(volts: number): number {
  return ratioToDecibels(volts / dbuReferenceVolts);
}

/** "+4 dBu = 1.228 V rms = 1.736 V pk = −20 dBFS at +24": what the level of a sine is called elsewhere, by the calibration. */
export function levelKin(levelDbu: number, fullScaleDbu: number): string {
  const volts = dbuToVolts(levelDbu);
  const rms = writeQuantity(volts, 'voltage', 'V');
  const peak = writeQuantity(volts * Math.SQRT2, 'voltage', 'V');
  const fullScale = writeQuantity(levelDbu - fullScaleDbu, 'level', 'dBFS');
  return `${writeQuantity(levelDbu, 'level', 'dBu')} = ${rms} rms = ${peak} pk = ${fullScale} at ${splitQuantity(fullScaleDbu, 'level', '').figure}`;
}

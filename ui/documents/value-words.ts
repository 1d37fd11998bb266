/** Values and computed figures as they are printed, on the page and on paper. Pure. */
import { splitQuantity, writeQuantity } from '../../dsp/path/index.ts';
import type { Parameter, Quantity } from '../../dsp/stages/index.ts';

/** "RC, collector load", or the label alone. */
export function nameOf(parameter: Parameter): string {
  return parameter.designator === undefined ? parameter.label : `${parameter.designator}, ${parameter.label}`;
}

/** A computed figure as precisely as it can be used: decibels to a tenth, all else to three significant digits, trailing zeros kept ("1.40 V"). */
export function writeComputed(value: number, quantity: Quantity, unit: string): string {
  if (!Number.isFinite(value)) return writeQuantity(value, quantity, unit);
  if (quantity === 'level' || quantity === 'gain' || quantity === 'harmonic-amount') {
    const tenths = Math.abs(value).toFixed(1);
    return `${Number(tenths) === 0 ? '' : value < 0 ? '−' : '+'}${tenths} ${unit}`;
  }
  const { figure, unit: printed } = splitQuantity(Number(value.toPrecision(3)), quantity, unit);
  // A degree stands against its figure, every other unit a space off (ISO 80000-1, 7.1.4, from memory).
  return `${withThreeDigits(figure)}${printed === '' || printed === '°' ? '' : ' '}${printed}`;
}

/** Node voltage with three digits. */
export function writeVolts(volts: number): string {
  return writeComputed(Math.abs(volts) < 5e-4 ? 0 : volts, 'voltage', 'V');
}

/** "1.4" → "1.40", "26" → "26.0"; "150" and "0" stay, and so does a figure with an exponent. */
function withThreeDigits(figure: string): string {
  if (Number(figure) === 0 || figure.includes('e')) return figure;
  const digits = figure.replace(/[^\d]/g, '').replace(/^0+/, '').length;
  return digits >= 3 ? figure : `${figure}${figure.includes('.') ? '' : '.'}${'0'.repeat(3 - digits)}`;
}

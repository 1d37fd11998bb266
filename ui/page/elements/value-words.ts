/** A value in words: how it is named, spoken and described. Pure. */
import { levelKin, speakQuantity, splitQuantity, takesPrefix, writeQuantity } from '../../../dsp/path/index.ts';
import type { NumberParameter, Parameter, Quantity } from '../../../dsp/stages/contract.ts';

/** "RC, collector load", or the label alone. */
export function nameOf(parameter: Parameter): string {
  return parameter.designator === undefined ? parameter.label : `${parameter.designator}, ${parameter.label}`;
}

/** What stands over the value: the designator, or the short label. */
export function headingOf(parameter: Parameter): string {
  return parameter.designator ?? parameter.shortLabel;
}

/** "4.7 kilohm, changed, default 3.9 kilohm" */
export function valueText(value: number, parameter: NumberParameter): string {
  const spoken = speakQuantity(value, parameter.quantity, parameter.unit);
  if (value === parameter.default) return spoken;
  return `${spoken}, changed, default ${speakQuantity(parameter.default, parameter.quantity, parameter.unit)}`;
}

/** A number for the accessibility tree, which knows no exponents: 0.000000001. */
export function plainNumber(value: number): string {
  const text = String(value);
  return text.includes('e') ? value.toFixed(20).replace(/\.?0+$/, '') : text;
}

/** Value as the page prints it. */
export function writeValue(value: number | string, parameter: Parameter): string {
  if (parameter.kind === 'choice') return parameter.options.find((option) => option.id === value)?.label ?? String(value);
  return writeQuantity(value as number, parameter.quantity, parameter.unit);
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

/** "1.4" → "1.40", "26" → "26.0"; "150" and "0" stay, and so does a figure with an exponent. */
function withThreeDigits(figure: string): string {
  if (Number(figure) === 0 || figure.includes('e')) return figure;
  const digits = figure.replace(/[^\d]/g, '').replace(/^0+/, '').length;
  return digits >= 3 ? figure : `${figure}${figure.includes('.') ? '' : '.'}${'0'.repeat(3 - digits)}`;
}

/** What a focused value adds about itself: a level its kin. Empty for others. */
export function kinOf(value: number, parameter: NumberParameter, fullScaleDbu: number): string {
  return parameter.quantity === 'level' ? levelKin(value, fullScaleDbu) : '';
}

const prefixes = [['p', 1e-12], ['n', 1e-9], ['µ', 1e-6], ['m', 1e-3], ['', 1], ['k', 1e3], ['M', 1e6], ['G', 1e9]] as const;

/** Prefixes with which some figure from 1 to 999 lies in the range. */
export function usefulPrefixes(parameter: NumberParameter): readonly string[] {
  if (!takesPrefix(parameter.unit)) return [];
  return prefixes.filter(([, factor]) => parameter.maximum >= factor && parameter.minimum < factor * 1000).map(([prefix]) => prefix);
}

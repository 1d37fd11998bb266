/** A value in words: how it is named, spoken and described. Pure. */
import { levelKin, speakQuantity, takesPrefix } from '../../../dsp/path/index.ts';
import type { NumberParameter } from '../../../dsp/stages/contract.ts';

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

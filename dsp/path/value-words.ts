/** A value of a table in words. */
import type { Parameter } from '../stages/index.ts';
import { writeQuantity } from './units.ts';

/** What stands over the value: the designator, or the short label. */
export function headingOf(parameter: Parameter): string {
  return parameter.designator ?? parameter.shortLabel;
}

/** "4.7 kΩ"; of a choice its label. */
export function writeValue(value: number | string, parameter: Parameter): string {
  if (parameter.kind === 'choice') return parameter.options.find((option) => option.id === value)?.label ?? String(value);
  return writeQuantity(value as number, parameter.quantity, parameter.unit);
}

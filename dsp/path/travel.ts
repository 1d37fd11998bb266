/**
 * How the hand moves a value: travel 0–1 over its range, key steps, and the rounding that keeps a dialled figure printable.
 * Common practice, no source: a straight travel in decibels or in the logarithm for what is heard or bought by ratio.
 */
import { exp, log } from '../math/index.ts';
import type { NumberParameter, Quantity } from '../stages/contract.ts';
import type { SeriesName } from './e-series.ts';
import { nearestPreferred, nextPreferred } from './e-series.ts';

type Range = Pick<NumberParameter, 'minimum' | 'maximum' | 'taper'>;

function requireRange(range: Range): void {
  if (!(range.maximum > range.minimum)) throw new RangeError(`travel: expected maximum > minimum, got ${range.maximum} and ${range.minimum}`);
  if (range.taper === 'logarithmic' && !(range.minimum > 0)) {
    throw new RangeError(`travel: expected minimum > 0 for a logarithmic taper, got ${range.minimum}`);
  }
}

/**
 * Where a value lies on its travel, 0 at the minimum, 1 at the maximum; clipped there.
 * @throws RangeError when the range is empty, or logarithmic from zero or below
 */
export function valueToTravel(value: number, range: Range): number {
  requireRange(range);
  const { minimum, maximum } = range;
  const travel = range.taper === 'logarithmic'
    ? log(Math.max(value, minimum) / minimum) / log(maximum / minimum)
    : (value - minimum) / (maximum - minimum);
  return Math.min(1, Math.max(0, travel));
}

/** The value at a travel; inverse of `valueToTravel` within a few ulp, exact at both ends. Same errors. */
export function travelToValue(travel: number, range: Range): number {
  requireRange(range);
  const { minimum, maximum } = range;
  if (!(travel > 0)) return minimum;
  if (travel >= 1) return maximum;
  const value = range.taper === 'logarithmic' ? minimum * exp(travel * log(maximum / minimum)) : minimum + travel * (maximum - minimum);
  return clampTo(value, range);
}

function clampTo(value: number, range: Pick<NumberParameter, 'minimum' | 'maximum'>): number {
  return Math.min(range.maximum, Math.max(range.minimum, value));
}

/** Rounded to a number of significant decimal digits (correctly, by way of decimal text). */
function significant(value: number, digits: number): number {
  return Number(value.toPrecision(digits));
}

/** Rounded to a multiple of `step`, clear of binary noise. */
function toMultiple(value: number, step: number): number {
  return significant(Math.round(value / step) * step, 12) + 0;
}

/** Which rule a quantity steps by: a component's series, E24 for figures that are not bought, decibels, or the table's own step. */
function ruleOf(quantity: Quantity): 'component' | 'figure' | 'decibel' | 'table' {
  switch (quantity) {
    case 'resistance': case 'capacitance': case 'inductance': return 'component';
    case 'current': case 'frequency': case 'time': return 'figure';
    case 'level': case 'gain': case 'harmonic-amount': return 'decibel';
    default: return 'table';
  }
}

/** Arrow; Shift with arrow; Page. */
export type StepSize = 'step' | 'fine' | 'page';

/**
 * The value after one key step, inside the limits. Components: next value of the series, 1 %, ×10. Current, frequency, time: next of
 * E24, 1 %, ×10. Decibels: 0.5, 0.1, 6 dB. Others: the table's step, a tenth of it, ten of it.
 */
export function steppedValue(value: number, parameter: NumberParameter, direction: 1 | -1, size: StepSize, series: SeriesName): number {
  const rule = ruleOf(parameter.quantity);
  if ((rule === 'component' || rule === 'figure') && value > 0) {
    if (size === 'step') return clampTo(nextPreferred(value, rule === 'component' ? series : 'E24', direction), parameter);
    if (size === 'page') return clampTo(significant(direction > 0 ? value * 10 : value / 10, 12), parameter);
    const changed = significant(direction > 0 ? value * 1.01 : value / 1.01, 4);
    return clampTo(changed === value ? significant(value * (1 + direction * 0.01), 6) : changed, parameter);
  }
  if (rule === 'component' || rule === 'figure') {
    // Zero has no decade: step by a hundredth of the range.
    return clampTo(significant(value + direction * (parameter.maximum - parameter.minimum) / 100, 6), parameter);
  }
  const step = rule === 'decibel' ? 0.5 : parameter.step;
  const factor = size === 'step' ? 1 : size === 'page' ? (rule === 'decibel' ? 12 : 10) : rule === 'decibel' ? 0.2 : 0.1;
  return clampTo(significant(value + direction * step * factor, 12) + 0, parameter);
}

/**
 * The value a drag stands at: components snap to the series, other figures to three digits, decibels to 0.1 dB, others to the
 * table's step; a fine drag (Shift) is free of the series and ten times finer.
 */
export function draggedValue(travel: number, parameter: NumberParameter, series: SeriesName, fine: boolean): number {
  const value = travelToValue(travel, parameter);
  if (value === parameter.minimum || value === parameter.maximum) return value;
  switch (ruleOf(parameter.quantity)) {
    case 'component': return clampTo(fine || !(value > 0) ? significant(value, 4) : nearestPreferred(value, series), parameter);
    case 'figure': return clampTo(significant(value, fine ? 4 : 3), parameter);
    case 'decibel': return clampTo(toMultiple(value, fine ? 0.01 : 0.1), parameter);
    default: return clampTo(toMultiple(value, fine ? parameter.step / 10 : parameter.step), parameter);
  }
}

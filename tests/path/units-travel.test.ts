import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { nearestPreferred } from '../../dsp/path/e-series.ts';
import { draggedValue, steppedValue, travelToValue, valueToTravel } from '../../dsp/path/travel.ts';
import type { NumberParameter, Quantity } from '../../dsp/stages/contract.ts';

function parameter(quantity: Quantity, minimum: number, maximum: number, taper: NumberParameter['taper'], step = 1): NumberParameter {
  return { kind: 'number', id: 'x', label: 'x', shortLabel: 'x', spokenLabel: 'x', help: '', quantity, unit: '', minimum, maximum, default: minimum, taper, step };
}
const rc = parameter('resistance', 100, 1e6, 'logarithmic');
const drive = parameter('gain', -40, 40, 'decibel');
const rail = parameter('voltage', 9, 48, 'linear', 0.5);
const cutoff = parameter('frequency', 10, 1e5, 'logarithmic');

describe('travel', () => {
  it('is straight in the logarithm, in decibels and in the value, by taper', () => {
    expect(travelToValue(0.5, rc)).toBeCloseTo(10000, 8);
    expect(travelToValue(0.25, drive)).toBe(-20);
    expect(travelToValue(0.5, rail)).toBe(28.5);
    expect([travelToValue(0, rc), travelToValue(1, rc), travelToValue(-3, rc), travelToValue(7, rc)]).toEqual([100, 1e6, 100, 1e6]);
  });

  it('returns: value to travel to value within 1e-13', () => {
    fc.assert(fc.property(fc.constantFrom(rc, drive, rail, cutoff), fc.double({ min: 0, max: 1, noNaN: true }), (range, travel) => {
      const value = travelToValue(travel, range);
      const again = travelToValue(valueToTravel(value, range), range);
      return Math.abs(again - value) <= 1e-13 * Math.max(Math.abs(value), Math.abs(range.maximum - range.minimum) / 100);
    }), { seed: 20261125 });
  });

  it('names both sides when the range has no such travel', () => {
    expect(() => valueToTravel(1, { minimum: 0, maximum: 1, taper: 'logarithmic' })).toThrow('expected minimum > 0 for a logarithmic taper, got 0');
    expect(() => valueToTravel(1, { minimum: 1, maximum: 1, taper: 'linear' })).toThrow('expected maximum > minimum, got 1 and 1');
  });
});

describe('key steps', () => {
  it.each([
    [rc, 4700, 1, 'step', 5100], [rc, 4700, -1, 'step', 4300], [rc, 4700, 1, 'fine', 4747], [rc, 4700, -1, 'fine', 4653], [rc, 4700, 1, 'page', 47000],
    [rc, 4e5, 1, 'page', 1e6], [rc, 100, -1, 'step', 100], [drive, 0, 1, 'step', 0.5], [drive, 0.3, -1, 'fine', 0.2], [drive, 0, -1, 'page', -6],
    [rail, 24, 1, 'step', 24.5], [rail, 24, 1, 'fine', 24.05], [rail, 24, 1, 'page', 29], [cutoff, 1000, 1, 'step', 1100], [cutoff, 1000, 1, 'fine', 1010],
  ] as const)('%# from %d', (of, value, direction, size, expected) => {
    expect(steppedValue(value, of, direction, size, 'E24')).toBe(expected);
  });

  it('follows the chosen series for components and E24 for frequencies', () => {
    expect(steppedValue(4700, rc, 1, 'step', 'E12')).toBe(5600);
    expect(steppedValue(4700, rc, 1, 'step', 'E96')).toBe(4750);
    expect(steppedValue(4700, cutoff, 1, 'step', 'E12')).toBe(5100);
  });

  it('always moves unless a limit stops it, and never leaves the range', () => {
    fc.assert(fc.property(fc.constantFrom(rc, drive, rail, cutoff), fc.double({ min: 0, max: 1, noNaN: true }), fc.constantFrom(1 as const, -1 as const),
      fc.constantFrom('step' as const, 'fine' as const, 'page' as const), (of, travel, direction, size) => {
        const value = travelToValue(travel, of);
        const next = steppedValue(value, of, direction, size, 'E24');
        const limit = direction > 0 ? of.maximum : of.minimum;
        return next >= of.minimum && next <= of.maximum && (value === limit ? next === limit : (next - value) * direction > 0);
      }), { seed: 20261125 });
  });
});

describe('dragged values', () => {
  it('snap components to the series, and are free with Shift', () => {
    expect(draggedValue(0.42, rc, 'E24', false)).toBe(nearestPreferred(travelToValue(0.42, rc), 'E24'));
    expect(draggedValue(0.42, rc, 'E24', true)).toBe(Number(travelToValue(0.42, rc).toPrecision(4)));
  });

  it('lie on the printed digits', () => {
    expect(draggedValue(0.503, drive, 'E24', false)).toBe(0.2);
    expect(draggedValue(0.503, drive, 'E24', true)).toBe(0.24);
    expect(draggedValue(0.5, rail, 'E24', false)).toBe(28.5);
    expect(draggedValue(0.37, cutoff, 'E24', false)).toBe(Number(travelToValue(0.37, cutoff).toPrecision(3)));
  });
});

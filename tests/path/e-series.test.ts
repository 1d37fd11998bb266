import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { nearestPreferred, nextPreferred, preferredSeries } from '../../dsp/path/e-series.ts';
import type { SeriesName } from '../../dsp/path/e-series.ts';

const names: SeriesName[] = ['E12', 'E24', 'E96'];
const positive = fc.double({ min: 1e-12, max: 1e9, noNaN: true });

describe('preferred series of IEC 60063', () => {
  it.each([['E12', 12], ['E24', 24], ['E96', 96]] as const)('%s has %i ascending values in a decade', (name, count) => {
    const { steps, digits } = preferredSeries[name];
    expect(steps).toHaveLength(count);
    expect(steps.every((step, index) => index === 0 || step > steps[index - 1]!)).toBe(true);
    expect(steps[0]).toBe(digits === 2 ? 10 : 100);
  });

  // IEC 60063:2015: E96 is the rounded geometric series throughout; E24 departs from it at eight places.
  it('E96 equals 10^(n/96) rounded to three digits', () => {
    expect(preferredSeries.E96.steps).toEqual(Array.from({ length: 96 }, (_, n) => Math.round(100 * 10 ** (n / 96))));
  });

  it('E24 departs from 10^(n/24) rounded to two digits at 27 30 33 36 39 43 47 82 only, and E12 is every second value of it', () => {
    const departures = preferredSeries.E24.steps.filter((step, n) => step !== Math.round(10 * 10 ** (n / 24)));
    expect(departures).toEqual([27, 30, 33, 36, 39, 43, 47, 82]);
    expect(preferredSeries.E12.steps).toEqual(preferredSeries.E24.steps.filter((_, n) => n % 2 === 0));
  });

  it.each([
    [4700, 'E24', 1, 5100], [4700, 'E24', -1, 4300], [4700, 'E12', 1, 5600], [4700, 'E96', 1, 4750], [4700, 'E96', -1, 4640],
    [9.1, 'E24', 1, 10], [1e-6, 'E24', -1, 9.1e-7], [4.71e-6, 'E12', -1, 4.7e-6], [976e3, 'E96', 1, 1e6],
  ] as const)('from %d in %s, direction %i: %d', (value, series, direction, expected) => {
    expect(nextPreferred(value, series, direction)).toBe(expected);
  });

  it('up then down returns to a value of the series', () => {
    fc.assert(fc.property(positive, fc.constantFrom(...names), (value, series) => {
      const on = nearestPreferred(value, series);
      return nearestPreferred(on, series) === on && nextPreferred(nextPreferred(on, series, 1), series, -1) === on
        && nextPreferred(nextPreferred(on, series, -1), series, 1) === on;
    }), { seed: 20261125 });
  });

  it('the nearest value is at most half a step of its series away, by ratio', () => {
    fc.assert(fc.property(positive, fc.constantFrom(...names), (value, series) => {
      const near = nearestPreferred(value, series);
      const up = nextPreferred(near, series, 1);
      const down = nextPreferred(near, series, -1);
      return value <= Math.sqrt(near * up) * (1 + 1e-12) && value >= Math.sqrt(near * down) * (1 - 1e-12);
    }), { seed: 20261125 });
  });

  it.each([0, -1, NaN, Infinity])('refuses %d, naming it', (value) => {
    expect(() => nextPreferred(value, 'E24', 1)).toThrow(`expected a finite value > 0, got ${value}`);
    expect(() => nearestPreferred(value, 'E24')).toThrow(RangeError);
  });
});

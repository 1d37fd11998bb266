import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FigureAxis } from '../../dsp/measure/figures/index.ts';
import { axisScale } from '../../ui/plot/scales.ts';
import { textWidthPx } from '../../ui/plot/text-width.ts';
import { axisTicks } from '../../ui/plot/ticks.ts';
import { frequencyAxis } from './figures.ts';

const axis = (change: Partial<FigureAxis>): FigureAxis => ({ label: 'level', unit: 'dB', scale: 'linear', written: 'plain', from: -60, to: 0, ...change });
const named = (of: FigureAxis, lengthPx: number, across = true) => axisTicks(of, { lengthPx, across, typePx: 13 }).ticks.filter(({ label }) => label !== '').map(({ label }) => label);

describe('ticks', () => {
  it('names a wide frequency axis at 1, 2 and 5 with prefixes, a narrow one at its decades', () => {
    expect(named(frequencyAxis, 800)).toEqual(['20 Hz', '50 Hz', '100 Hz', '200 Hz', '500 Hz', '1 kHz', '2 kHz', '5 kHz', '10 kHz', '20 kHz']);
    expect(named(frequencyAxis, 400)).toEqual(['20 Hz', '100 Hz', '1 kHz', '10 kHz']);
    expect(named({ ...frequencyAxis, from: 1e-3, to: 1e6 }, 200)).toEqual(['1 mHz', '1 Hz', '1 kHz', '1 MHz']);
  });

  it('draws finer lines at every whole multiple of a decade', () => {
    const { ticks } = axisTicks(frequencyAxis, { lengthPx: 800, across: true, typePx: 13 });
    expect(ticks.map(({ value }) => value)).toEqual([20, 30, 40, 50, 60, 70, 80, 90, 100, 200, 300, 400, 500, 600, 700, 800, 900, 1000, 2000, 3000, 4000, 5000, 6000, 7000, 8000, 9000, 10_000, 20_000]);
    expect(ticks.filter(({ minor }) => minor).map(({ value }) => value)).not.toContain(5000);
    expect(ticks.find(({ value }) => value === 3000)).toEqual({ value: 3000, label: '', minor: true });
  });

  it.each([
    [-140, 0, 330, ['−140', '−120', '−100', '−80', '−60', '−40', '−20', '0']],
    [-60, 30, 330, ['−60', '−50', '−40', '−30', '−20', '−10', '0', '+10', '+20', '+30']],
    [-18, 18, 300, ['−18', '−12', '−6', '0', '+6', '+12', '+18']],
    [-0.5, 0.5, 330, ['−0.5', '−0.4', '−0.3', '−0.2', '−0.1', '0', '+0.1', '+0.2', '+0.3', '+0.4', '+0.5']],
    [-48, 48, 300, ['−48', '−36', '−24', '−12', '0', '+12', '+24', '+36', '+48']],
  ])('counts %d to %d dB by sensible steps', (from, to, lengthPx, expected) => {
    expect(named(axis({ from, to }), lengthPx, false)).toEqual(expected);
  });

  it('counts degrees by 15, 30, 45, 90', () => {
    expect(named(axis({ unit: 'degrees', from: -90, to: 90 }), 140, false)).toEqual(['−90', '−45', '0', '45', '90']);
    expect(named(axis({ unit: 'degrees', from: -360, to: 0 }), 140, false)).toEqual(['−360', '−270', '−180', '−90', '0']);
  });

  it('puts one prefix for all figures of a linear axis beside its name', () => {
    const time = axisTicks(axis({ label: 'time', unit: 's', written: 'prefixed', from: 0, to: 0.002 }), { lengthPx: 300, across: true, typePx: 13 });
    expect([time.title, time.ticks.map(({ label }) => label)]).toEqual(['time, ms', ['0', '0.5', '1.0', '1.5', '2.0']]);
    const volts = axisTicks(axis({ label: 'input', unit: 'V', written: 'prefixed', from: -0.02, to: 0.02 }), { lengthPx: 150, across: false, typePx: 13 });
    expect([volts.title, volts.ticks.map(({ label }) => label)]).toEqual(['input, mV', ['−20', '−10', '0', '10', '20']]);
    expect(axisTicks(frequencyAxis, { lengthPx: 500, across: true, typePx: 13 }).title).toBe('frequency');
    expect(axisTicks(axis({ label: '', unit: '%' }), { lengthPx: 500, across: true, typePx: 13 }).title).toBe('%');
  });

  it('has names on any axis, inside it, that never touch', () => {
    const anyAxis = fc.record({
      scale: fc.constantFrom<'linear' | 'logarithmic'>('linear', 'logarithmic'), written: fc.constantFrom<'plain' | 'prefixed'>('plain', 'prefixed'), unit: fc.constantFrom('dB', 'Hz', 'V', 'degrees', ''),
      low: fc.double({ min: -5, max: 5, noNaN: true }), span: fc.double({ min: 0.1, max: 6, noNaN: true }), lengthPx: fc.integer({ min: 120, max: 1000 }), across: fc.boolean(),
    });
    fc.assert(fc.property(anyAxis, ({ scale, written, unit, low, span, lengthPx, across }) => {
      const ends = scale === 'logarithmic' ? { from: 10 ** low, to: 10 ** (low + span) } : { from: low * 10, to: low * 10 + 10 ** span };
      const of: FigureAxis = { label: 'x', unit, scale, written, ...ends };
      const places = axisScale(of, 0, lengthPx);
      const all = axisTicks(of, { lengthPx, across, typePx: 13 }).ticks.filter(({ label }) => label !== '').map(({ value, label }) => ({ px: places.place(value), widthPx: textWidthPx(label, 13), label }));
      expect(all.length).toBeGreaterThan(0);
      all.forEach(({ px, widthPx, label }, k) => {
        expect(px > -0.01 && px < lengthPx + 0.01, `${label} at ${px}`).toBe(true);
        const before = all[k - 1];
        if (before) expect(px - before.px >= (across ? (widthPx + before.widthPx) / 2 : 13), `${before.label} | ${label}: ${px - before.px} px`).toBe(true);
      });
      expect(new Set(all.map(({ label }) => label)).size).toBe(all.length);
    }), { seed: 20261126, numRuns: 500 });
  });
});

describe('a scale', () => {
  it('goes there and back, and stops at its ends', () => {
    const scale = axisScale(frequencyAxis, 40, 640);
    expect([scale.place(20), scale.place(20_000), scale.place(0), scale.place(-1)]).toEqual([40, 640, NaN, NaN]);
    // 20 Hz · 1000^(1/3) = 200 Hz
    expect(Math.abs(scale.place(200) - 240)).toBeLessThan(1e-9);
    expect([scale.valueAt(-100), scale.valueAt(9999)].map((hz) => Math.round(hz * 1e6) / 1e6)).toEqual([20, 20_000]);
  });

  it.each([[{ from: 3, to: 3 }, /axis level: expected finite ends apart, got 3 and 3/], [{ from: NaN }, /got NaN/], [{ scale: 'logarithmic' as const, from: 0, to: 1 }, /above 0 on a logarithmic axis, got 0 and 1/]])(
    'refuses %j', (change, sentence) => { expect(() => axisScale(axis(change), 0, 100)).toThrow(sentence); });
});

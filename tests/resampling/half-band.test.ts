import { describe, expect, it } from 'vitest';
import { kaiserWindow } from '../../dsp/math/index.ts';
import { ellipticHalfBand, smallestAllPassHalfBand } from '../../dsp/resampling/half-band-elliptic.ts';
import { equirippleHalfBand, shortestHalfBand } from '../../dsp/resampling/half-band-equiripple.ts';
import { check, expectWithin, misses, numberInput } from '../reference/checks.ts';
import { responseDb } from './ladder-probe.ts';

/** All 4m + 3 taps from the distinct ones. */
function allTaps(sideTaps: Float64Array): Float64Array {
  const taps = new Float64Array(4 * sideTaps.length - 1);
  sideTaps.forEach((tap, j) => {
    taps[2 * j] = tap;
    taps[taps.length - 1 - 2 * j] = tap;
  });
  taps[2 * sideTaps.length - 1] = 0.5;
  return taps;
}

const between = (low: number, high: number, count = 4000): number[] => Array.from({ length: count + 1 }, (_, i) => low + (high - low) * i / count);
const highest = (taps: Float64Array, frequencies: number[]): number => Math.max(...frequencies.map((f) => responseDb(taps, f)));

describe('equiripple half-bands', () => {
  it.each(['HB-VN-47', 'HB-VN-63'])('%s: stop band and pass-band ripple', (id) => {
    const entry = check(id);
    const edge = numberInput(entry, 'passband_edge_over_fs');
    const taps = allTaps(equirippleHalfBand((numberInput(entry, 'ntaps') - 3) / 4, edge).sideTaps);
    const ripple = Math.max(...between(0, edge).map((f) => Math.abs(responseDb(taps, f))));
    expectWithin(entry, [highest(taps, between(0.5 - edge, 0.5)), ripple]);
  });

  it('has every lobe of the stop band equally high', () => {
    const design = equirippleHalfBand(15, 0.2);
    const taps = allTaps(design.sideTaps);
    const levels = between(0.3, 0.5, 3000).map((f) => responseDb(taps, f));
    const lobes = levels.filter((level, i) => i > 0 && i < levels.length - 1 && level > levels[i - 1]! && level >= levels[i + 1]!);
    expect(lobes.length).toBeGreaterThan(5);
    for (const lobe of lobes) expect(Math.abs(lobe - 20 * Math.log10(design.rippleRatio)) <= 0.01, `lobe at ${lobe} dB`).toBe(true);
  });

  it('finds the shortest that reaches a ripple', () => {
    const design = shortestHalfBand(100, 0.2, 1e-5);
    const m = design.sideTaps.length - 1;
    expect(design.rippleRatio <= 1e-5).toBe(true);
    expect(equirippleHalfBand(m - 1, 0.2).rippleRatio > 1e-5).toBe(true);
  });

  it('refuses edges outside 0 … 0.25 and broken lengths', () => {
    for (const edge of [0, 0.25, NaN]) expect(() => equirippleHalfBand(5, edge)).toThrow(`got ${edge}`);
    expect(() => equirippleHalfBand(1.5, 0.2)).toThrow('1.5');
    expect(() => ellipticHalfBand(3, 0.3)).toThrow('0.3');
    expect(() => ellipticHalfBand(0, 0.2)).toThrow('got 0');
  });
});

describe('Kaiser-windowed half-bands, the comparison', () => {
  it.each(['HB-KAISER-47', 'HB-KAISER-95'])('%s: stop band from 0.30 and 0.28, gain at a quarter of the rate, taps', (id) => {
    const entry = check(id);
    const length = numberInput(entry, 'ntaps');
    const window = kaiserWindow(length, numberInput(entry, 'beta'));
    const middle = (length - 1) / 2;
    const taps = window.map((w, i) => ((i - middle) % 2 === 0 ? 0 : w * Math.sin(Math.PI * (i - middle) / 2) / (Math.PI * (i - middle))));
    const scale = 0.5 / taps.reduce((sum, tap) => sum + tap, 0);
    const filter = taps.map((tap) => tap * scale);
    filter[middle] = 0.5;
    const nonZero = filter.filter((tap) => tap !== 0).length;
    expectWithin(entry, [highest(filter, between(0.3, 0.5)), highest(filter, between(0.28, 0.5)), responseDb(filter, 0.25), nonZero]);
  });
});

describe('elliptic all-pass half-bands', () => {
  it.each(['HB-ELL-2', 'HB-ELL-4', 'HB-ELL-6', 'HB-ELL-8'])('%s: coefficients, attenuation, pass-band loss', (id) => {
    const entry = check(id);
    const n = numberInput(entry, 'n');
    const edge = numberInput(entry, 'passband_edge_over_fs');
    const design = ellipticHalfBand(n, edge);
    const lossDb = 10 * Math.log10(1 + Math.pow(10, -design.attenuationDb / 10));
    const actual = [...design.coefficients, design.attenuationDb, lossDb];
    expectWithin(entry, actual);
    // The coefficients themselves are asked for more closely: 1e-9.
    expect(misses(entry, actual, { type: 'abs', value: 1e-9 }).filter((line) => Number(/\[(\d+)\]/.exec(line)![1]) < n)).toEqual([]);
  });

  it.each([[2, 0.15], [4, 0.2], [6, 0.22], [8, 0.226757369614512]])('%i coefficients: the measured stop band and pass band are the formula\'s', (n, edge) => {
    const { coefficients, attenuationDb } = ellipticHalfBand(n, edge);
    const phase = (alphas: number[], turns: number): number => alphas.reduce((sum, alpha) => {
      const angle = 2 * Math.PI * turns;
      return sum + Math.atan2(-Math.sin(angle), alpha + Math.cos(angle)) - Math.atan2(-alpha * Math.sin(angle), 1 + alpha * Math.cos(angle));
    }, 0);
    const first = [...coefficients].filter((_, i) => i % 2 === 0);
    const second = [...coefficients].filter((_, i) => i % 2 === 1);
    const gain = (f: number): number => Math.abs(Math.cos((phase(first, 2 * f) - phase(second, 2 * f) + 2 * Math.PI * f) / 2));
    const stopDb = Math.max(...between(0.5 - edge, 0.5).map((f) => 20 * Math.log10(gain(f))));
    expect(Math.abs(stopDb + attenuationDb) <= 0.01, `stop band ${stopDb} dB, formula ${-attenuationDb} dB`).toBe(true);
    const powerSum = Math.max(...between(0, 0.5, 100).map((f) => Math.abs(gain(f) * gain(f) + gain(0.5 - f) * gain(0.5 - f) - 1)));
    expect(powerSum <= 1e-12).toBe(true);
  });

  it('HB-ELL-RIPPLE: the pass-band loss that goes with 100 dB', () => {
    const entry = check('HB-ELL-RIPPLE');
    expectWithin(entry, 10 * Math.log10(1 + Math.pow(10, -numberInput(entry, 'As_dB') / 10)));
  });

  it('takes the fewest coefficients', () => {
    const design = smallestAllPassHalfBand(100, 0.22);
    expect(design.attenuationDb >= 100).toBe(true);
    expect(ellipticHalfBand(design.coefficients.length - 1, 0.22).attenuationDb < 100).toBe(true);
  });
});

// Harmonics from uneven points: known sums of cosines, sampled at seeded times.
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { splineHarmonics } from './spline.ts';

/** About `perPeriod` points a period, their distances within ±30 % of each other; each twice in a while, as simulators write. */
function wave(perPeriod: number, periods: number, frequencyHz: number): { times: Float64Array; values: Float64Array } {
  const random = new SeededRandom(20261125);
  const times: number[] = [0];
  while (times.at(-1)! < periods / frequencyHz) {
    const last = times.at(-1)!;
    if (times.length % 97 === 0) times.push(last);
    times.push(last + (0.7 + 0.6 * random.nextUnit()) / (frequencyHz * perPeriod));
  }
  const value = (t: number): number => 0.5 + 2 * Math.cos(2 * Math.PI * frequencyHz * t + 0.3) + 1e-3 * Math.cos(6 * Math.PI * frequencyHz * t - 1) + 1e-5 * Math.sin(10 * Math.PI * frequencyHz * t);
  return { times: Float64Array.from(times), values: Float64Array.from(times, value) };
}

describe('splineHarmonics', () => {
  it('finds amplitudes down to −106 dB within 0.001 dB from 1024 uneven points a period', () => {
    const { times, values } = wave(1024, 4, 10_000);
    const found = splineHarmonics(times, values, 10_000, 2e-4, [1, 2, 3, 5]);
    for (const [order, peak] of [[1, 2], [3, 1e-3], [5, 1e-5]] as const) {
      const errorDb = Math.abs(20 * Math.log10(found.get(order)! / peak));
      expect(errorDb, `H${order}: ${found.get(order)}, expected ${peak}`).toBeLessThan(1e-3);
    }
    expect(found.get(2)!).toBeLessThan(1e-9);
  });

  it('has the fourth-order error of a cubic spline: 64 points a period are within 1e-5 of the strongest, 128 within 1e-6', () => {
    for (const [points, limit] of [[64, 1e-5], [128, 1e-6]] as const) {
      const { times, values } = wave(points, 4, 1000);
      expect(Math.abs(splineHarmonics(times, values, 1000, 2e-3, [1]).get(1)! / 2 - 1)).toBeLessThan(limit);
    }
  });
});

import { describe, expect, it } from 'vitest';
import { weightedByHalfOrder, weightedByOrderSquared } from '../../dsp/measure/index.ts';
import { check } from '../reference/checks.ts';

const published = (id: string): number => check(id).expected as number;

/** Orders 2 to 5 of the checks' example, relative to a fundamental of 1. */
const harmonics = [0.01, 0.005, 0.001, 0.002].map((ratio, k) => ({ order: k + 2, ratio }));

describe('weighted distortion', () => {
  it('by n/2 is the published figure (RMA 1937)', () => {
    expect(Math.abs(weightedByHalfOrder(harmonics) / published('WT-RMA') - 1) <= 1e-6).toBe(true);
  });
  it('by n²/4 is the published figure (Shorter 1950)', () => {
    expect(Math.abs(weightedByOrderSquared(harmonics) / published('WT-SHORTER') - 1) <= 1e-6).toBe(true);
  });
  it('weighs each order by the published decibels (Shorter 1950)', () => {
    [0, 7.04365, 12.0412, 15.9176, 19.08485, 21.76272, 24.0824, 26.1285].forEach((db, k) => {
      const weighted = weightedByOrderSquared([{ order: k + 2, ratio: 1 }]);
      expect(Math.abs(20 * Math.log10(weighted) - db) <= 1e-5).toBe(true);
    });
  });
});

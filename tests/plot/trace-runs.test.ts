import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { axisScale } from '../../ui/plot/scales.ts';
import { tracePoints, traceRuns, traceUprights } from '../../ui/plot/trace-runs.ts';
import { range, traceOf } from './figures.ts';

/** 0 to 10 across 100 px, 0 to 10 up 100 px: a unit is 10 px. */
const axis = { label: '', unit: '', scale: 'linear', written: 'plain', from: 0, to: 10 } as const;
const box = { left: 0, right: 100, top: 0, bottom: 100 };
const x = axisScale(axis, 0, 100);
const y = axisScale(axis, 100, 0);
const runs = (xs: readonly number[], ys: readonly number[], drawn: 'line' | 'stair' = 'line') => traceRuns(traceOf('t', xs, ys, { drawn }), x, y, box).map((run) => run.map((px) => Math.round(px * 1e6) / 1e6));

describe('a line', () => {
  it('goes through its points and stops at gaps', () => {
    expect(runs([0, 1, 2, 3, 4], [0, 5, NaN, 5, 10])).toEqual([[0, 100, 10, 50], [30, 50, 40, 0]]);
    expect(runs([0, 1, 2], [1, -Infinity, 1])).toHaveLength(2);
  });

  it('is cut where it leaves the panel, not bent along its edge', () => {
    // From (0, 5) up to (2, 15): leaves the top at x = 1.
    expect(runs([0, 2, 4], [5, 15, 5])).toEqual([[0, 50, 10, 0], [30, 0, 40, 50]]);
    // Crosses the whole panel between two points outside it.
    expect(runs([-5, 15], [5, 5])).toEqual([[0, 50, 100, 50]]);
    expect(runs([1, 2], [11, 12])).toEqual([]);
  });

  it('shows a point by itself', () => {
    expect(runs([1, 2, 3], [NaN, 5, NaN])).toEqual([[19.25, 50, 20.75, 50]]);
  });

  it('as a stair holds each value until the next', () => {
    expect(runs([0, 5, 10], [2, 4, 6], 'stair')).toEqual([[0, 80, 50, 80, 50, 60, 100, 60, 100, 40]]);
  });

  it('never leaves the panel and never loses what is inside, whatever the points', () => {
    const value = fc.oneof(fc.double({ min: -30, max: 40, noNaN: true }), fc.constantFrom(NaN, Infinity, -Infinity));
    fc.assert(fc.property(fc.array(fc.tuple(value, value), { minLength: 2, maxLength: 30 }), (points) => {
      const drawn = traceRuns(traceOf('t', points.map(([px]) => px), points.map(([, py]) => py)), x, y, box);
      for (const run of drawn) {
        expect(run.length).toBeGreaterThanOrEqual(4);
        run.forEach((px) => expect(px >= -1e-6 && px <= 100 + 1e-6, String(px)).toBe(true));
      }
      const flat = drawn.flat();
      for (const [px, py] of points) {
        if (!(px >= 0 && px <= 10 && py >= 0 && py <= 10)) continue;
        const there = flat.some((each, k) => k % 2 === 0 && Math.abs(each - 10 * px) < 1 && Math.abs(flat[k + 1]! - (100 - 10 * py)) < 1e-6);
        expect(there, `${px}, ${py}`).toBe(true);
      }
    }), { seed: 20261126, numRuns: 300 });
  });

  it('of many points keeps those that bend it', () => {
    const xs = range(2000, 0, 10);
    const ys = xs.map((each) => 5 + 4 * Math.sin(each) + (each > 7 ? 0.5 : 0));
    const [run] = traceRuns(traceOf('t', xs, ys), axisScale(axis, 0, 1000), axisScale(axis, 1000, 0), { left: 0, right: 1000, top: 0, bottom: 1000 }) as [readonly number[]];
    expect(run.length / 2).toBeLessThan(400);
    // Every point is within a tenth of a px of what is drawn.
    xs.forEach((each, k) => {
      const after = Math.max(2, run.findIndex((px, index) => index % 2 === 0 && px >= 100 * each - 1e-9));
      const [x0, y0, x1, y1] = [run[after - 2]!, run[after - 1]!, run[after]!, run[after + 1]!];
      const error = Math.abs(y0 + ((y1 - y0) * (100 * each - x0)) / (x1 - x0) - (1000 - 100 * ys[k]!));
      expect(error <= 0.1, `${each}: ${error} px`).toBe(true);
    });
  });

  it('of very many points keeps the reach of each px with few of them', () => {
    const xs = range(20_000, 0, 10);
    const ys = xs.map((each, k) => 5 + (k % 7 === 0 ? 4 : k % 11 === 0 ? -4 : 0) * Math.sin(each));
    const [run] = traceRuns(traceOf('t', xs, ys), x, y, box) as [readonly number[]];
    expect(run.length / 2).toBeLessThanOrEqual(4 * 101);
    for (let column = 1; column < 99; column += 1) {
      const inColumn = (k: number): boolean => Math.floor(10 * xs[k]!) === column;
      const all = xs.flatMap((_, k) => (inColumn(k) ? [100 - 10 * ys[k]!] : []));
      const kept = run.filter((_, k) => k % 2 === 1 && Math.floor(run[k - 1]!) === column);
      expect(Math.abs(Math.max(...kept) - Math.max(...all)) + Math.abs(Math.min(...kept) - Math.min(...all))).toBeLessThan(1e-9);
    }
  });
});

describe('points and uprights', () => {
  it('leave out what is beyond the ends', () => {
    expect(tracePoints(traceOf('t', [0, 5, 11, 5], [5, 5, 5, 12]), x, y, box)).toEqual([0, 50, 50, 50]);
  });

  it('stand on the foot, reach to the top at most, and only the highest of a px is drawn', () => {
    expect(traceUprights(traceOf('t', [2, 2.01, 5, 7, 8], [3, 6, 14, -1, NaN]), x, y, box).map((run) => run.map((px) => Math.round(px * 10) / 10))).toEqual([[20.1, 100, 20.1, 40], [50, 100, 50, 0]]);
  });
});

import { describe, expect, it } from 'vitest';
import { besselI, lambertW0, scaledBesselI } from '../../dsp/math/index.ts';
import { check, expectWithin } from '../reference/checks.ts';
import { errorUlp, exactPoints } from './exact-values.ts';

describe('Lambert W', () => {
  it('stays within its bound, the branch point included', () => {
    const points = exactPoints('lambertW0');
    expect(points.length).toBeGreaterThan(300);
    for (const point of points) {
      const actual = lambertW0(point.x);
      const limit = point.x >= -0.25 || point.x + 0.36787944117144233 < 7e-5 ? 4 : 4 + 4 / (1 + point.nearest);
      const error = errorUlp(actual, point);
      expect(error <= limit, `W(${point.x}) is ${error} ulp off, allowed ${limit}`).toBe(true);
    }
    expect(lambertW0(-0.36787944117144233)).toBeCloseTo(-1, 7);
  });
});

describe('modified Bessel functions', () => {
  // Source: 60-digit values, tests/reference/functions/gen_functions.py.
  it.each([
    ['besselI0', (x: number) => besselI(0, x)],
    ['besselI1Scaled', (x: number) => scaledBesselI(1, x)],
    ['besselI5Scaled', (x: number) => scaledBesselI(5, x)],
  ])('%s within 4e-15', (name, f) => {
    for (const { x, nearest } of exactPoints(name)) {
      const error = Math.abs(f(x) / nearest - 1);
      expect(error <= 4e-15, `${name}(${x}): relative error ${error}`).toBe(true);
    }
  });

  it('agrees with the published table at x = 1', () => {
    expectWithin(check('EXP-SCALED-A&S'), [scaledBesselI(0, 1), scaledBesselI(1, 1)]);
  });

  it('refuses broken orders', () => {
    expect(() => scaledBesselI(0.5, 1)).toThrow('0.5');
    expect(() => besselI(-1, 1)).toThrow('-1');
  });
});

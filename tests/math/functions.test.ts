import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import * as m from '../../dsp/math/index.ts';
import { exactPoints, errorUlp, ulpOf, worstPoint } from './exact-values.ts';

// Source of the exact values: 60-digit arithmetic, tests/reference/functions/gen_functions.py. Bounds: the docblocks'.
const bounds: [name: string, f: (x: number) => number, limitUlp: number][] = [
  ['exp', m.exp, 1], ['expm1', m.expm1, 3], ['log', m.log, 1], ['log1p', m.log1p, 3], ['tanh', m.tanh, 3],
  ['sin', m.sin, 1], ['cos', m.cos, 1], ['sinh', m.sinh, 4], ['cosh', m.cosh, 4], ['atan', m.atan, 2], ['log10', m.log10, 2],
  ['log2', m.log2, 3], ['decibelsToRatio', m.decibelsToRatio, 3], ['ratioToDecibels', m.ratioToDecibels, 2],
];

describe('functions against exact values', () => {
  it.each(bounds)('%s stays within its bound', (name, f, limitUlp) => {
    const points = exactPoints(name);
    expect(points.length).toBeGreaterThan(250);
    const worst = worstPoint(f, points);
    expect(worst.ulp <= limitUlp, `${name}(${worst.x}) is ${worst.ulp} ulp off, allowed ${limitUlp}`).toBe(true);
  });

  it('measures errors in ulp', () => {
    expect(ulpOf(1)).toBe(Number.EPSILON);
    expect(ulpOf(-1.5)).toBe(Number.EPSILON);
    expect(ulpOf(5e-324)).toBe(5e-324);
    expect(ulpOf(1e-310)).toBe(5e-324);
    expect(errorUlp(1 + 2 * Number.EPSILON, { x: 0, nearest: 1, beyondUlp: 0.25 })).toBe(1.75);
    expect(worstPoint(() => NaN, exactPoints('exp')).ulp).toBeNaN();
  });
});

describe('special values', () => {
  const cases: [string, number, number][] = [
    ['exp NaN', m.exp(NaN), NaN], ['exp 0', m.exp(0), 1], ['exp −0', m.exp(-0), 1], ['exp ∞', m.exp(Infinity), Infinity], ['exp −∞', m.exp(-Infinity), 0],
    ['exp over the top', m.exp(709.782712893385), Infinity], ['exp under the bottom', m.exp(-745.1332191019413), 0], ['exp smallest', m.exp(-745.1332191019411), 5e-324],
    ['expm1 NaN', m.expm1(NaN), NaN], ['expm1 −0', m.expm1(-0), -0], ['expm1 0', m.expm1(0), 0], ['expm1 ∞', m.expm1(Infinity), Infinity],
    ['expm1 −∞', m.expm1(-Infinity), -1], ['expm1 tiny', m.expm1(-5e-324), -5e-324], ['expm1 over the top', m.expm1(709.8), Infinity],
    ['log 0', m.log(0), -Infinity], ['log −0', m.log(-0), -Infinity], ['log −1', m.log(-1), NaN], ['log NaN', m.log(NaN), NaN], ['log ∞', m.log(Infinity), Infinity], ['log 1', m.log(1), 0],
    ['log1p −0', m.log1p(-0), -0], ['log1p −1', m.log1p(-1), -Infinity], ['log1p −2', m.log1p(-2), NaN], ['log1p NaN', m.log1p(NaN), NaN], ['log1p ∞', m.log1p(Infinity), Infinity],
    ['tanh NaN', m.tanh(NaN), NaN], ['tanh −0', m.tanh(-0), -0], ['tanh 0', m.tanh(0), 0], ['tanh ∞', m.tanh(Infinity), 1], ['tanh −∞', m.tanh(-Infinity), -1], ['tanh tiny', m.tanh(5e-324), 5e-324],
    ['sin −0', m.sin(-0), -0], ['sin ∞', m.sin(Infinity), NaN], ['sin NaN', m.sin(NaN), NaN], ['cos 0', m.cos(0), 1], ['cos −∞', m.cos(-Infinity), NaN], ['sin 2^31', m.sin(2147483648), NaN],
    ['sinh −0', m.sinh(-0), -0], ['sinh −∞', m.sinh(-Infinity), -Infinity], ['sinh NaN', m.sinh(NaN), NaN], ['cosh −∞', m.cosh(-Infinity), Infinity], ['cosh NaN', m.cosh(NaN), NaN],
    ['atan −0', m.atan(-0), -0], ['atan −∞', m.atan(-Infinity), -Math.PI / 2], ['atan NaN', m.atan(NaN), NaN],
    ['log10 0', m.log10(0), -Infinity], ['log10 ∞', m.log10(Infinity), Infinity], ['log2 8', m.log2(8), 3], ['log2 2^−1074', m.log2(5e-324), -1074], ['log2 −1', m.log2(-1), NaN],
    ['0 dB', m.decibelsToRatio(0), 1], ['−∞ dB', m.decibelsToRatio(-Infinity), 0], ['NaN dB', m.decibelsToRatio(NaN), NaN], ['level of 0', m.ratioToDecibels(0), -Infinity], ['level of −1', m.ratioToDecibels(-1), NaN],
    ['0^2', m.power(0, 2), 0], ['0^−1', m.power(0, -1), Infinity], ['0^0', m.power(0, 0), 1], ['(−1)^2', m.power(-1, 2), NaN],
    ['atan2(0, 1)', m.atan2(0, 1), 0], ['atan2(−0, 1)', m.atan2(-0, 1), -0], ['atan2(0, −1)', m.atan2(0, -1), Math.PI], ['atan2(−0, −1)', m.atan2(-0, -1), -Math.PI],
    ['atan2(0, −0)', m.atan2(0, -0), Math.PI], ['atan2(1, 0)', m.atan2(1, 0), Math.PI / 2], ['atan2(−1, −0)', m.atan2(-1, -0), -Math.PI / 2],
    ['atan2(∞, ∞)', m.atan2(Infinity, Infinity), Math.PI / 4], ['atan2(∞, −∞)', m.atan2(Infinity, -Infinity), 3 * Math.PI / 4], ['atan2(1, −∞)', m.atan2(1, -Infinity), Math.PI],
    ['atan2(NaN, 1)', m.atan2(NaN, 1), NaN], ['atan2(1, NaN)', m.atan2(1, NaN), NaN],
    ['2^−1074', m.powerOfTwo(-1074), 5e-324], ['2^1023', m.powerOfTwo(1023), 8.98846567431158e307], ['2^1024', m.powerOfTwo(1024), Infinity], ['2^−1075', m.powerOfTwo(-1075), 0],
    ['W(0)', m.lambertW0(-0), -0], ['W(∞)', m.lambertW0(Infinity), Infinity], ['W(NaN)', m.lambertW0(NaN), NaN], ['W(−1)', m.lambertW0(-1), NaN], ['I0(0)', m.besselI(0, 0), 1], ['I1(0)', m.besselI(1, 0), 0],
  ];
  it.each(cases)('%s', (_name, actual, expected) => {
    expect(actual).toBe(expected);
  });
});

describe('relations between functions', () => {
  const value = fc.double({ min: -1e5, max: 1e5, noNaN: true });
  const property = (f: (x: number) => boolean): void => { fc.assert(fc.property(value, f), { seed: 20261125, numRuns: 2000 }); };

  it('keeps symmetry to the bit', () => {
    property((x) => Object.is(m.tanh(-x), -m.tanh(x)) && Object.is(m.sin(-x), -m.sin(x)) && m.cos(-x) === m.cos(x) && Object.is(m.atan(-x), -m.atan(x)));
  });

  it('holds sin² + cos² = 1 within 4e-16', () => {
    property((x) => Math.abs(m.sin(x) * m.sin(x) + m.cos(x) * m.cos(x) - 1) <= 4e-16);
  });

  it('turns the angle back: atan2(r sin a, r cos a) = a within 1e-15', () => {
    property((x) => Math.abs(m.atan2(3 * m.sin(x / 32000), 3 * m.cos(x / 32000)) - x / 32000) <= 1e-15);
  });

  it('inverts decibels within 2e-14 dB of 100', () => {
    property((x) => Math.abs(m.ratioToDecibels(m.decibelsToRatio(x / 1000)) - x / 1000) <= 2e-14);
  });

  it('raises to a power within its stated bound, against exact squares and square roots', () => {
    fc.assert(fc.property(fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (x) => {
      const bound = (y: number): number => (2.5 + 2 * Math.abs(y * m.log(x))) * 1.12e-16;
      return Math.abs(m.power(x, 2) / (x * x) - 1) <= bound(2) && Math.abs(m.power(x, 1.5) / (x * Math.sqrt(x)) - 1) <= bound(1.5) + 2.3e-16;
    }), { seed: 20261125, numRuns: 2000 });
    expect(Math.abs(m.pow10(3) / 1000 - 1) <= 7e-16).toBe(true);
  });

  it('is equal to the published order of summation, so that a vector version can repeat it', () => {
    const [q0, q1, q2, q3, q4, q5, q6, q7, q8, q9] = m.EXP_COEFFICIENTS as [number, number, number, number, number, number, number, number, number, number];
    property((wide) => {
      const x = wide / 200;
      const k = (x * m.LOG2_E + m.ROUNDING_SHIFT) - m.ROUNDING_SHIFT;
      const r = (x - k * m.LN2_HIGH) - k * m.LN2_LOW;
      const r2 = r * r;
      const r4 = r2 * r2;
      const q = (((q0 + q1 * r) + (q2 + q3 * r) * r2) + ((q4 + q5 * r) + (q6 + q7 * r) * r2) * r4) + (q8 + q9 * r) * (r4 * r4);
      return (1 + (r + r2 * q)) * m.powerOfTwo(k) === m.exp(x);
    });
  });
});

// Decibels and powers, from our own exp and log.
import { exp } from './exp.ts';
import { log } from './log.ts';

// Derived by tests/reference/functions/gen_coefficients.py.
const LN10_OVER_20_HIGH = 0.1151292473077774;
const LN10_OVER_20_LOW = 7.341924879415743e-9;
const DECIBELS_PER_NEPER = 8.685889638065037;
const DECIBELS_PER_NEPER_LOW = -2.244252798067096e-16;

/**
 * The amplitude ratio of a level: 10^(decibels/20). Error ≤ 3 ulp for |decibels| ≤ 400. −∞ → 0; +∞ → ∞; NaN → NaN; 0 → 1.
 * The product with ln 10 / 20 is taken in two parts, so that large levels lose nothing.
 */
export function decibelsToRatio(decibels: number): number {
  if (!(decibels >= -7000 && decibels <= 7000)) return exp(decibels);
  const high = Math.fround(decibels);
  const nepers = high * LN10_OVER_20_HIGH;
  const rest = high * LN10_OVER_20_LOW + (decibels - high) * (LN10_OVER_20_HIGH + LN10_OVER_20_LOW);
  const leading = exp(nepers);
  return leading + leading * (rest + 0.5 * rest * rest);
}

/** The level of an amplitude ratio: 20 log10(ratio). Error ≤ 2 ulp. 0 → −∞; ratio < 0 → NaN. */
export function ratioToDecibels(ratio: number): number {
  const nepers = log(ratio);
  if (!(nepers > -Infinity && nepers < Infinity)) return nepers;
  return nepers * DECIBELS_PER_NEPER + nepers * DECIBELS_PER_NEPER_LOW;
}

/**
 * x^y for x > 0 (x = 0: 0 for y > 0, 1 for y = 0, ∞ for y < 0; x < 0: NaN). Relative error ≤ (2 + 2 |y ln x|) · 2^−53:
 * the exponent is rounded once, so large powers lose the bits of |y ln x|. For x^1.5 and the like prefer x · √x.
 */
export function power(x: number, y: number): number {
  if (y === 0) return 1;
  return exp(y * log(x));
}

/** 10^y. Error ≤ 3 ulp for |y| ≤ 20. */
export function pow10(y: number): number {
  return decibelsToRatio(20 * y);
}

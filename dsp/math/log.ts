// Natural logarithm and its relatives, from + − × ÷ and exponent bits.
import { LN2_HIGH, LN2_LOW, LOG2_E } from './exp.ts';
import { POWERS_OF_TWO, POWERS_OF_TWO_ORIGIN } from './powers-of-two.ts';

// Coefficients: derived by tests/reference/functions/gen_coefficients.py.
const L1 = 0.666666666666667;
const L2 = 0.39999999999899444;
const L3 = 0.2857142862600327;
const L4 = 0.22222211130259878;
const L5 = 0.18182889455674947;
const L6 = 0.15331710618210773;
const L7 = 0.14616585424888623;

/**
 * L1 … L7 of R in `log`, first to last. A vector version that is to equal `log` to the bit joins them, with w = z², as
 * z (L1 + w (L3 + w (L5 + w L7))) + w (L2 + w (L4 + w L6)).
 */
export const LOG_COEFFICIENTS: readonly number[] = [L1, L2, L3, L4, L5, L6, L7];

const LOG10_E = 0.4342944819032518;
const LOG10_E_LOW = 1.098319650216765e-17;
const LOG2_E_LOW = 2.0355273740931033e-17;
const TWO_TO_54 = 18014398509481984;
const SMALLEST_NORMAL = 2.2250738585072014e-308;

const float = new Float64Array(1);
const words = new Uint32Array(float.buffer);
/** Index of the word with sign and exponent: 1 where the machine stores the low word first. */
const HIGH_WORD = highWordIndex();

function highWordIndex(): number {
  float[0] = 1;
  return words[1] === 0 ? 0 : 1;
}

/** The integer k with x · 2^−k in [√½, √2], for normal positive x. Two words of exponent bits; the edge is exact to 2^−20. */
function binaryExponent(x: number): number {
  float[0] = x;
  // 0x3fe6a09e is the high word of √½: taking it away makes the carry into the exponent fall at √2.
  return ((words[HIGH_WORD]! - 0x3fe6a09e) >> 20);
}

/** log(1 + f) + k ln 2 + low, for 1 + f in [√½, √2]. */
function logOfReduced(f: number, k: number, low: number): number {
  const s = f / (2 + f);
  const z = s * s;
  const w = z * z;
  const r = z * (L1 + w * (L3 + w * (L5 + w * L7))) + w * (L2 + w * (L4 + w * L6));
  const halfSquare = 0.5 * f * f;
  return k * LN2_HIGH - (halfSquare - (s * (halfSquare + r) + (k * LN2_LOW + low)) - f);
}

/**
 * The natural logarithm. Error ≤ 1 ulp.
 *
 * +0 and −0 → −∞; x < 0 → NaN; +∞ → +∞; NaN → NaN; subnormal x exact to the same bound (scaled by 2^54 first).
 * x = 2^k (1 + f); s = f/(2 + f), z = s²; log(1 + f) = f − (f²/2 − s (f²/2 + R)), R a polynomial of seven coefficients
 * for 2 atanh s (relative error 2^−57.6). Allocates nothing.
 * Source: the form is that of the freely distributable C library fdlibm; the coefficients are our own.
 */
export function log(x: number): number {
  if (!(x >= SMALLEST_NORMAL && x < Infinity)) return logBeyond(x);
  const k = binaryExponent(x);
  return logOfReduced(x * POWERS_OF_TWO[POWERS_OF_TWO_ORIGIN - k]! - 1, k, 0);
}

function logBeyond(x: number): number {
  if (x === 0) return -Infinity;
  if (x < 0) return NaN;
  if (!(x < Infinity)) return x;
  const scaled = x * TWO_TO_54;
  const k = binaryExponent(scaled);
  return logOfReduced(scaled * POWERS_OF_TWO[POWERS_OF_TWO_ORIGIN - k]! - 1, k - 54, 0);
}

/**
 * log(1 + x) without loss near 0. Error ≤ 3 ulp.
 *
 * ±0 → ±0; −1 → −∞; x < −1 → NaN; +∞ → +∞; NaN → NaN. What 1 + x rounds away is carried as a first-order term.
 */
export function log1p(x: number): number {
  if (!(x > -1 && x < Infinity)) return x === -1 ? -Infinity : x < -1 ? NaN : x;
  if (x > -0.2928 && x < 0.4142) {
    const s = x / (2 + x);
    const z = s * s;
    const w = z * z;
    const r = z * (L1 + w * (L3 + w * (L5 + w * L7))) + w * (L2 + w * (L4 + w * L6));
    const halfSquare = 0.5 * x * x;
    return x - (halfSquare - s * (halfSquare + r));
  }
  const sum = 1 + x;
  const k = binaryExponent(sum);
  const lost = (x > 1 ? 1 - (sum - x) : x - (sum - 1)) / sum;
  return logOfReduced(sum * POWERS_OF_TWO[POWERS_OF_TWO_ORIGIN - k]! - 1, k, lost);
}

/** The base-10 logarithm. Error ≤ 2 ulp. Special values as `log`. */
export function log10(x: number): number {
  const natural = log(x);
  if (!(natural > -Infinity && natural < Infinity)) return natural;
  return natural * LOG10_E + natural * LOG10_E_LOW;
}

/** The base-2 logarithm, exact for powers of two. Error ≤ 3 ulp. Special values as `log`. */
export function log2(x: number): number {
  if (!(x > 0 && x < Infinity)) return log(x);
  const scaled = x < SMALLEST_NORMAL ? x * TWO_TO_54 : x;
  const k = binaryExponent(scaled);
  const natural = logOfReduced(scaled * POWERS_OF_TWO[POWERS_OF_TWO_ORIGIN - k]! - 1, 0, 0);
  return (x < SMALLEST_NORMAL ? k - 54 : k) + (natural * LOG2_E + natural * LOG2_E_LOW);
}


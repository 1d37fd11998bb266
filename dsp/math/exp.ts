// e^x and e^x − 1 from + − × ÷ and a table of exact powers of two.
import { POWERS_OF_TWO, POWERS_OF_TWO_ORIGIN } from './powers-of-two.ts';

// Coefficients and split constants: derived by tests/reference/functions/gen_coefficients.py.
/** Adding and taking away 1.5 · 2^52 rounds to the nearest integer (ties to even). */
export const ROUNDING_SHIFT = 6755399441055744;
export const LOG2_E = 1.4426950408889634;
/** ln 2 with the low 32 bits of its significand cleared, so that k · LN2_HIGH is exact for |k| < 2^32. */
export const LN2_HIGH = 0.6931467056274414;
/** ln 2 − LN2_HIGH. */
export const LN2_LOW = 4.7493250390316726e-7;

const Q0 = 0.5000000000000001;
const Q1 = 0.16666666666666669;
const Q2 = 0.04166666666662413;
const Q3 = 0.008333333333330062;
const Q4 = 0.0013888888917213717;
const Q5 = 0.00019841269863053618;
const Q6 = 2.4801521295954376e-5;
const Q7 = 2.7557268459997064e-6;
const Q8 = 2.7620088445409746e-7;
const Q9 = 2.510038549551032e-8;

/**
 * The coefficients of Q in e^r = 1 + (r + r² Q(r)), constant first. A vector version that is to equal `exp` to the bit
 * joins them as ((Q0 + Q1 r) + (Q2 + Q3 r) r²) + ((Q4 + Q5 r) + (Q6 + Q7 r) r²) r⁴ + (Q8 + Q9 r) (r⁴ r⁴), left to right.
 */
export const EXP_COEFFICIENTS: readonly number[] = [Q0, Q1, Q2, Q3, Q4, Q5, Q6, Q7, Q8, Q9];

/**
 * e^x. Error ≤ 1 ulp everywhere, subnormal results included.
 *
 * NaN → NaN; ±0 → 1; +∞ and x > 709.782712893384 → ∞; −∞ and x < −745.1332191019412 → 0.
 * k = round(x log2 e), r = x − k ln 2 in two parts, e^r = 1 + (r + r² Q(r)) with Q of degree 9 (relative error 1.6e-17),
 * times 2^k. No branch for −708 ≤ x ≤ 709. Allocates nothing; safe in the audio thread.
 * Source: W. J. Cody, W. Waite, Software Manual for the Elementary Functions, 1980; J.-M. Muller, Elementary Functions.
 */
export function exp(x: number): number {
  if (!(x >= -708 && x <= 709)) return expBeyond(x);
  const k = x * LOG2_E + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const r = x - k * LN2_HIGH - k * LN2_LOW;
  const r2 = r * r;
  const r4 = r2 * r2;
  const q = Q0 + Q1 * r + (Q2 + Q3 * r) * r2 + (Q4 + Q5 * r + (Q6 + Q7 * r) * r2) * r4 + (Q8 + Q9 * r) * (r4 * r4);
  return (1 + (r + r2 * q)) * POWERS_OF_TWO[(k | 0) + POWERS_OF_TWO_ORIGIN]!;
}

/**
 * `exp` of values[at] in its place, with the same operations, for −708 ≤ x ≤ 709 or NaN. For loops on the audio thread: a number that goes into a function or comes out of it is put on the heap where
 * the engine does not take the function in, an array is not. Allocates nothing.
 */
export function expInPlace(values: Float64Array, at: number): void {
  const x = values[at]!;
  const k = x * LOG2_E + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const r = x - k * LN2_HIGH - k * LN2_LOW;
  const r2 = r * r;
  const r4 = r2 * r2;
  const q = Q0 + Q1 * r + (Q2 + Q3 * r) * r2 + (Q4 + Q5 * r + (Q6 + Q7 * r) * r2) * r4 + (Q8 + Q9 * r) * (r4 * r4);
  values[at] = (1 + (r + r2 * q)) * POWERS_OF_TWO[(k | 0) + POWERS_OF_TWO_ORIGIN]!;
}

/** The two ends of the range, where 2^k alone is not a normal number, and NaN. */
function expBeyond(x: number): number {
  if (x !== x) return x;
  if (x > 709.782712893384) return Infinity;
  if (x < -746) return 0;
  const k = x * LOG2_E + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const half = k >> 1;
  return (1 + reducedExpm1(x, k)) * POWERS_OF_TWO[half + POWERS_OF_TWO_ORIGIN]! * POWERS_OF_TWO[(k | 0) - half + POWERS_OF_TWO_ORIGIN]!;
}

/** e^(x − k ln 2) − 1, k = round(x log2 e): the same operations as in `exp`. */
function reducedExpm1(x: number, k: number): number {
  const r = x - k * LN2_HIGH - k * LN2_LOW;
  const r2 = r * r;
  const r4 = r2 * r2;
  const q = Q0 + Q1 * r + (Q2 + Q3 * r) * r2 + (Q4 + Q5 * r + (Q6 + Q7 * r) * r2) * r4 + (Q8 + Q9 * r) * (r4 * r4);
  return r + r2 * q;
}

/**
 * e^x − 1 without loss near 0. Error ≤ 3 ulp.
 *
 * NaN → NaN; ±0 → ±0; x > 709.782712893384 → ∞; −∞ → −1. e^x − 1 = 2^k (r + r² Q) + (2^k − 1), k and r as in `exp`.
 * Allocates nothing.
 */
export function expm1(x: number): number {
  if (x === 0) return x;
  if (!(x <= 709)) return exp(x);
  if (x < -45) return -1;
  const k = x * LOG2_E + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const power = POWERS_OF_TWO[(k | 0) + POWERS_OF_TWO_ORIGIN]!;
  return power * reducedExpm1(x, k) + (power - 1);
}

/**
 * The hyperbolic tangent. Error ≤ 3 ulp.
 *
 * NaN → NaN; ±0 → ±0; ±∞ → ±1. With y = max(−2|x|, −45) and t = e^y − 1: tanh |x| = −t / (2 + t). One formula for the
 * whole range; the sign is put on by selection. Its derivative is 1 − tanh². Allocates nothing.
 */
export function tanh(x: number): number {
  const twice = x < 0 ? 2 * x : -2 * x;
  const y = twice < -45 ? -45 : twice;
  const k = y * LOG2_E + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const power = POWERS_OF_TWO[(k | 0) + POWERS_OF_TWO_ORIGIN]!;
  const t = power * reducedExpm1(y, k) + (power - 1);
  const magnitude = -t / (2 + t);
  return x > 0 ? magnitude : x < 0 ? -magnitude : x;
}

/**
 * `tanh` of values[at] in its place, with the same operations; why, says `expInPlace`. Allocates nothing.
 */
export function tanhInPlace(values: Float64Array, at: number): void {
  const x = values[at]!;
  const twice = x < 0 ? 2 * x : -2 * x;
  const y = twice < -45 ? -45 : twice;
  const k = y * LOG2_E + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const power = POWERS_OF_TWO[(k | 0) + POWERS_OF_TWO_ORIGIN]!;
  const r = y - k * LN2_HIGH - k * LN2_LOW;
  const r2 = r * r;
  const r4 = r2 * r2;
  const q = Q0 + Q1 * r + (Q2 + Q3 * r) * r2 + (Q4 + Q5 * r + (Q6 + Q7 * r) * r2) * r4 + (Q8 + Q9 * r) * (r4 * r4);
  const t = power * (r + r2 * q) + (power - 1);
  const magnitude = -t / (2 + t);
  values[at] = x > 0 ? magnitude : x < 0 ? -magnitude : x;
}

/** sinh x. Error ≤ 4 ulp. NaN → NaN; ±0 → ±0; ±∞ → ±∞. */
export function sinh(x: number): number {
  const magnitude = x < 0 ? -x : x;
  if (magnitude === 0 || x !== x) return x;
  if (magnitude > 22) {
    const half = exp(magnitude / 2);
    return x > 0 ? half / 2 * half : -(half / 2 * half);
  }
  const t = expm1(magnitude);
  const value = (t + t / (1 + t)) / 2;
  return x > 0 ? value : -value;
}

/** cosh x. Error ≤ 4 ulp. NaN → NaN; ±∞ → ∞. */
export function cosh(x: number): number {
  const magnitude = x < 0 ? -x : x;
  if (magnitude > 22) {
    const half = exp(magnitude / 2);
    return half / 2 * half;
  }
  const e = exp(magnitude);
  return (e + 1 / e) / 2;
}

// Sine, cosine and the arctangent, from + − × ÷ alone.
import { ROUNDING_SHIFT } from './exp.ts';

// Coefficients and split constants: derived by tests/reference/functions/gen_coefficients.py.
const TWO_OVER_PI = 0.6366197723675814;
// π/2 in three parts of 33 bits (k times a part is exact for |k| ≤ 2^20) and the rest.
const HALF_PI_1 = 1.5707963267341256;
const HALF_PI_2 = 6.077100506303966e-11;
const HALF_PI_3 = 2.0222662487111665e-21;
const HALF_PI_4 = 8.4784276603689e-32;

const S1 = -0.16666666666666666;
const S2 = 0.008333333333330948;
const S3 = -0.00019841269836756774;
const S4 = 2.7557316101617874e-6;
const S5 = -2.505113165023518e-8;
const S6 = 1.5918115263265974e-10;

const C1 = 0.041666666666666664;
const C2 = -0.0013888888888887398;
const C3 = 2.480158729876456e-5;
const C4 = -2.7557317271145144e-7;
const C5 = 2.087614614655861e-9;
const C6 = -1.1382623647474604e-11;

const A1 = -0.3333333333333333;
const A2 = 0.19999999999995516;
const A3 = -0.14285714284665682;
const A4 = 0.11111111015187018;
const A5 = -0.0909090457530649;
const A6 = 0.07692183125376892;
const A7 = -0.06664510525508936;
const A8 = 0.05858140904866328;
const A9 = -0.050854078345894844;
const A10 = 0.03923044778479309;
const A11 = -0.019175404711104935;

const QUARTER_PI = 0.7853981633974483;
const QUARTER_PI_LOW = 3.061616997868383e-17;
const HALF_PI = 1.5707963267948966;
const HALF_PI_LOW = 6.123233995736766e-17;
const PI_LOW = 1.2246467991473532e-16;
const TAN_EIGHTH_PI = 0.41421356237309503;

/** sin(r + low), |r| ≤ π/4, |low| far below one ulp of r's range. */
function sinReduced(r: number, low: number): number {
  const z = r * r;
  const cube = z * r;
  const tail = S2 + z * (S3 + z * (S4 + z * (S5 + z * S6)));
  return r - (z * (0.5 * low - cube * tail) - low - cube * S1);
}

/** cos(r + low), |r| ≤ π/4. */
function cosReduced(r: number, low: number): number {
  const z = r * r;
  const tail = z * z * (C1 + z * (C2 + z * (C3 + z * (C4 + z * (C5 + z * C6)))));
  const halfSquare = 0.5 * z;
  const leading = 1 - halfSquare;
  return leading + (1 - leading - halfSquare + (tail - r * low));
}

/** sin (quarter 0) or cos (quarter 1) of x: quarter turns are counted and the rest taken from π/2 in four parts. */
function circular(x: number, quarter: number): number {
  const k = x * TWO_OVER_PI + ROUNDING_SHIFT - ROUNDING_SHIFT;
  const first = x - k * HALF_PI_1;
  const second = k * HALF_PI_2;
  const afterSecond = first - second;
  const lostSecond = first - afterSecond - second;
  const third = k * HALF_PI_3 - lostSecond;
  const afterThird = afterSecond - third;
  const fourth = k * HALF_PI_4 - (afterSecond - afterThird - third);
  const r = afterThird - fourth;
  const low = afterThird - r - fourth;
  const turn = ((k | 0) + quarter) & 3;
  const value = (turn & 1) === 0 ? sinReduced(r, low) : cosReduced(r, low);
  return turn < 2 ? value : -value;
}

/**
 * sin x, x in radians. Error ≤ 1 ulp for |x| ≤ 10⁶, the nearest numbers to multiples of π/2 included; beyond 1.6 · 10⁶ the
 * bound is not promised, and |x| > 2^30 gives NaN. ±0 → ±0; ±∞, NaN → NaN. Allocates nothing.
 * Source: Cody and Waite 1980 for the reduction, here with compensated differences.
 */
export function sin(x: number): number {
  if (!(x >= -1073741824 && x <= 1073741824)) return NaN;
  return x === 0 ? x : circular(x, 0);
}

/** cos x, x in radians. Domain and bound as `sin`; ±0 → 1. */
export function cos(x: number): number {
  if (!(x >= -1073741824 && x <= 1073741824)) return NaN;
  return circular(x, 1);
}

/**
 * The arctangent, in radians within ±π/2. Error ≤ 2 ulp. ±0 → ±0; ±∞ → ±π/2; NaN → NaN.
 * Reduced to |t| ≤ tan π/8 by 1/x and (t − 1)/(t + 1), then a polynomial of degree 23.
 */
export function atan(x: number): number {
  const magnitude = x < 0 ? -x : x;
  if (magnitude === 0 || x !== x) return x;
  const inverted = magnitude > 1;
  const ratio = inverted ? 1 / magnitude : magnitude;
  const turned = ratio > TAN_EIGHTH_PI;
  const t = turned ? (ratio - 1) / (ratio + 1) : ratio;
  const z = t * t;
  const tail = t * z * (A1 + z * (A2 + z * (A3 + z * (A4 + z * (A5 + z * (A6 + z * (A7 + z * (A8 + z * (A9 + z * (A10 + z * A11))))))))));
  const firstOctave = turned ? QUARTER_PI + (t + (tail + QUARTER_PI_LOW)) : t + tail;
  const value = inverted ? HALF_PI - (firstOctave - HALF_PI_LOW) : firstOctave;
  return x > 0 ? value : -value;
}

/**
 * The angle of the point (x, y), in radians within ±π. Error ≤ 3 ulp. NaN in either → NaN.
 * The signs of zeros count as in IEEE 754: atan2(±0, +0) = ±0, atan2(±0, −0) = ±π; infinities give multiples of π/4.
 */
export function atan2(y: number, x: number): number {
  if (x !== x || y !== y) return NaN;
  const negativeY = y < 0 || (y === 0 && 1 / y < 0);
  const negativeX = x < 0 || (x === 0 && 1 / x < 0);
  const magnitudeY = negativeY ? -y : y;
  const magnitudeX = negativeX ? -x : x;
  let angle: number;
  if (magnitudeY === 0) angle = 0;
  else if (magnitudeY === Infinity && magnitudeX === Infinity) angle = QUARTER_PI;
  else if (magnitudeY > magnitudeX) {
    const beyond = atan(magnitudeX / magnitudeY);
    const quarterTurn = negativeX ? HALF_PI + (beyond + HALF_PI_LOW) : HALF_PI - (beyond - HALF_PI_LOW);
    return negativeY ? -quarterTurn : quarterTurn;
  } else angle = atan(magnitudeY / magnitudeX);
  if (negativeX) angle = Math.PI - (angle - PI_LOW);
  return negativeY ? -angle : angle;
}

/**
 * The frequency axis of a sampled filter, made to follow the analogue one.
 *
 * A sampled filter's power response is rational in φ = sin²(ω/2), an analogue one's in W = Ω², Ω in radians a sample; the true axis is W(φ) = (2 asin √φ)². The bilinear transform
 * takes 4φ/(1 − φ) for it, which runs away towards half the rate. Here W is interpolated by R(φ) = φ P(φ)/Q(φ) of degree `order`, and an analogue power response taken at R is one
 * of a sampled filter of `order` times the degree, right to within its slope times what R misses.
 *
 * W maps the upper half plane into itself and is analytic on (−∞, 1) (a Pick function), and a rational function that interpolates such a one at 2 · order + 1 points of that line, of
 * the least degree, is one again (K. Löwner, "Über monotone Matrixfunktionen", Math. Z. 38, 1934; theorem from memory, our application): R is real, rising and without a pole for
 * φ ≤ 1, so that a response which is positive for all W gives one that is positive up to half the rate, with roots to either side of the unit circle and none on it.
 * Points: 0, and those of Chebyshev over W from 0 to the band's edge, which crowd where φ has its branch point.
 */
import { cos, luFactor, luSolve, sin } from '../../math/index.ts';

/** Curves follow the analogue ones up to here. */
export const bandEdgeHz = 20e3;
/** … or to this share of the rate, where the rate is too low for it. */
const highestShare = 0.4536;
export const bandEdgeAt = (rateHz: number): number => Math.min(bandEdgeHz, highestShare * rateHz);
/** What R may miss of W, relative. The steepest bell of the table, 480 dB/octave, makes 0.002 dB of 2.5e-6 in frequency. */
export const mapTolerance = 1e-5;
export const highestOrder = 6;

export interface FrequencyMap {
  /** Degree of R, and sections of a sampled filter to one of the analogue's. */
  readonly order: number;
  /** `order` numbers of ascending powers. */
  readonly p: readonly number[];
  /** `order` + 1 numbers, the first is 1. */
  readonly q: readonly number[];
  /** Largest |R/W − 1| in the band. */
  readonly worstError: number;
}

/** The map of least degree that keeps the tolerance, or of the highest. */
export function frequencyMap(rateHz: number): FrequencyMap {
  const edge = (2 * Math.PI * bandEdgeAt(rateHz)) / rateHz;
  let best = interpolated(1, edge);
  for (let order = 2; order <= highestOrder && !(best.worstError <= mapTolerance); order += 1) {
    const next = interpolated(order, edge);
    if (next.worstError < best.worstError) best = next;
  }
  return best;
}

/** sin²(Ω/2). */
function phi(omega: number): number {
  const s = sin(omega / 2);
  return s * s;
}

/** R at φ ≤ 1. */
export function mapped({ p, q }: Pick<FrequencyMap, 'p' | 'q'>, x: number): number {
  return (x * sum(p, x)) / sum(q, x);
}

function sum(coefficients: readonly number[], x: number): number {
  let total = 0;
  for (let k = coefficients.length - 1; k >= 0; k -= 1) total = total * x + coefficients[k]!;
  return total;
}

function interpolated(order: number, edge: number): FrequencyMap {
  const size = 2 * order;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  for (let row = 0; row < size; row += 1) {
    const omega = edge * Math.sqrt((1 - cos((Math.PI * (row + 0.5)) / size)) / 2);
    const x = phi(omega);
    const ratio = (omega * omega) / x;
    let power = 1;
    for (let k = 0; k < order; k += 1) {
      matrix[row * size + k] = power;
      power *= x;
      matrix[row * size + order + k] = -ratio * power;
    }
    right[row] = ratio;
  }
  const pivots = new Int32Array(size);
  luFactor(matrix, size, pivots);
  luSolve(matrix, size, pivots, right);
  const [p, q] = [[...right.subarray(0, order)], [1, ...right.subarray(order)]];
  return { order, p, q, worstError: worstError({ p, q }, edge) };
}

const looks = 400;

function worstError(map: Pick<FrequencyMap, 'p' | 'q'>, edge: number): number {
  let worst = 0;
  for (let k = 1; k <= looks; k += 1) {
    const omega = edge * Math.sqrt(k / looks);
    const error = Math.abs(mapped(map, phi(omega)) / (omega * omega) - 1);
    if (!(error <= worst)) worst = error;
  }
  return worst;
}

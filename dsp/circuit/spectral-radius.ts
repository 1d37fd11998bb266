/** How fast a periodically driven circuit forgets: the largest eigenvalue of what one period does to its memory. */
import { exp, log } from '../math/index.ts';

/** A step's radius above this is growth: so little above 1 may be the rounding of an ideal integrator. */
export const growingRadius = 1 + 1e-7;

/**
 * Largest |eigenvalue| of an n × n row-major matrix: ‖Φ^(2^30)‖^(2^−30) by squaring with rescaling. A dozen squarings would not do: a factor of 5 in the norm
 * after 4,096 powers reads 1.0004 for a true 0.9997, and would call a large coupling capacitor an oscillator. Error about 1e-8.
 */
export function spectralRadius(matrix: Float64Array, n: number): number {
  let power = Float64Array.from(matrix);
  let logNorm = 0;
  let exponent = 1;
  for (let squaring = 0; squaring <= 30; squaring += 1) {
    let largest = 0;
    for (const entry of power) if (!(Math.abs(entry) <= largest)) largest = Math.abs(entry);
    if (!(largest < Infinity)) return Infinity;
    if (largest === 0) return 0;
    for (let k = 0; k < power.length; k += 1) power[k] = power[k]! / largest;
    logNorm += log(largest);
    if (squaring === 30) break;
    const squared = new Float64Array(n * n);
    for (let row = 0; row < n; row += 1) {
      for (let k = 0; k < n; k += 1) {
        const factor = power[row * n + k]!;
        for (let c = 0; c < n; c += 1) squared[row * n + c] = squared[row * n + c]! + factor * power[k * n + c]!;
      }
    }
    power = squared;
    logNorm *= 2;
    exponent *= 2;
  }
  return exp(logNorm / exponent);
}

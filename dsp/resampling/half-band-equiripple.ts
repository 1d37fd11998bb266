// Linear-phase half-band filters of least length: every side lobe as high as the next.
import { atan2, cos, kaiserTaps, luFactor, luSolve, sin } from '../math/index.ts';

/** A half-band filter of 4m + 3 taps: centre 1/2, every second tap zero, the others symmetric. */
export interface HalfBandFir {
  /** The m + 1 distinct taps at even index 0, 2, … 2m, outermost first; tap 4m + 2 − i equals tap i. */
  readonly sideTaps: Float64Array;
  /** Largest stop-band gain, a ratio; the pass band deviates from 1 by as much. */
  readonly rippleRatio: number;
}

const GRID_POINTS_PER_EXTREMUM = 16;
const MAX_EXCHANGES = 40;

/**
 * The equiripple half-band filter with m + 1 distinct side taps. `passEdge` is the upper edge of the pass band as a fraction
 * of the sample rate, 0 … 0.25 exclusive; the stop band starts at 0.5 − passEdge.
 *
 * The half-band is (z^−(2m+1) + G(z²))/2, G a filter of 2m + 2 taps whose only band is 0 … 2·passEdge; G is found by exchange
 * of extremal points (E. Remez 1934), each step solved as a linear system in its cosine terms.
 * Source: P. P. Vaidyanathan, T. Q. Nguyen, A "trick" for the design of FIR half-band filters, IEEE Trans. CAS 34(3), 1987.
 * Throws when the exchange does not settle. Design time only: it allocates.
 */
export function equirippleHalfBand(m: number, passEdge: number): HalfBandFir {
  if (!(passEdge > 0 && passEdge < 0.25)) throw new Error(`half-band filter: expected a pass-band edge between 0 and 0.25 of the rate, got ${passEdge}`);
  if (!(Number.isInteger(m) && m >= 0)) throw new Error(`half-band filter: expected a whole number of side taps, got ${m}`);
  const bandEdge = 4 * Math.PI * passEdge;
  const grid = bandGrid(bandEdge, GRID_POINTS_PER_EXTREMUM * (m + 2));
  const errors = new Float64Array(grid.length);
  let extrema = bandGrid(bandEdge, m + 1);
  for (let exchange = 0; exchange < MAX_EXCHANGES; exchange++) {
    const solved = solveOnExtrema(extrema, m);
    let largest = 0;
    for (let i = 0; i < grid.length; i++) {
      errors[i] = bandError(solved, m, grid[i]!);
      largest = Math.max(largest, Math.abs(errors[i]!));
    }
    // Level within 1 part in 10⁴, or down at rounding level: what is left is far below a hundredth of a decibel.
    if (largest <= Math.abs(solved[m + 1]!) * 1.0001 + 1e-14) return toHalfBand(solved, m, largest);
    extrema = nextExtrema(grid, errors, m + 2);
  }
  throw new Error(`half-band filter: no equiripple design with ${4 * m + 3} taps for a pass-band edge of ${passEdge}`);
}

/** The shortest equiripple half-band that reaches an attenuation; arguments as `equirippleHalfBand`. */
export function shortestHalfBand(attenuationDb: number, passEdge: number, rippleRatio: number): HalfBandFir {
  const taps = kaiserTaps(attenuationDb, 2 * Math.PI * (0.5 - 2 * passEdge));
  let m = Math.max(0, Math.ceil((taps - 3) / 4) - 2);
  let best = equirippleHalfBand(m, passEdge);
  while (best.rippleRatio > rippleRatio) best = equirippleHalfBand(++m, passEdge);
  while (m > 0) {
    const shorter = equirippleHalfBand(m - 1, passEdge);
    if (!(shorter.rippleRatio <= rippleRatio)) break;
    best = shorter;
    m--;
  }
  return best;
}

/** Angles from 0 to the edge whose cosines are Chebyshev's points: as the extrema lie, nearly. */
function bandGrid(bandEdge: number, intervals: number): Float64Array {
  const widest = sin(bandEdge / 2);
  return Float64Array.from({ length: intervals + 1 }, (_, i) => {
    if (i === intervals) return bandEdge;
    const half = widest * sin(Math.PI * i / (2 * intervals));
    return 2 * atan2(half, Math.sqrt(1 - half * half));
  });
}

/** Terms g_k and the level δ with Σ g_k cos((k + ½) φ_i) + (−1)^i δ = 1 at every extremum; δ is the last entry. */
function solveOnExtrema(extrema: Float64Array, m: number): Float64Array {
  const size = m + 2;
  const matrix = new Float64Array(size * size);
  const solution = new Float64Array(size).fill(1);
  for (let i = 0; i < size; i++) {
    for (let k = 0; k <= m; k++) matrix[i * size + k] = cos((k + 0.5) * extrema[i]!);
    matrix[i * size + m + 1] = i % 2 === 0 ? 1 : -1;
  }
  const pivots = new Int32Array(size);
  if (!luFactor(matrix, size, pivots)) throw new Error('half-band filter: extremal points coincide');
  luSolve(matrix, size, pivots, solution);
  return solution;
}

/** 1 − Σ g_k cos((k + ½) φ): how far G is from 1. The cosines come from their recurrence. */
function bandError(terms: Float64Array, m: number, angle: number): number {
  const twice = 2 * cos(angle);
  let previous = cos(0.5 * angle);
  let current = previous;
  let sum = 0;
  for (let k = 0; k <= m; k++) {
    sum += terms[k]! * current;
    const next = twice * current - previous;
    previous = current;
    current = next;
  }
  return 1 - sum;
}

/** The largest point of each run of equal sign, refined by the parabola through its neighbours; ends that are too many are dropped. */
function nextExtrema(grid: Float64Array, errors: Float64Array, count: number): Float64Array {
  const peaks: number[] = [0];
  for (let i = 1; i < grid.length; i++) {
    const last = peaks.length - 1;
    if ((errors[i]! > 0) !== (errors[peaks[last]!]! > 0)) peaks.push(i);
    else if (Math.abs(errors[i]!) > Math.abs(errors[peaks[last]!]!)) peaks[last] = i;
  }
  while (peaks.length > count) {
    if (Math.abs(errors[peaks[0]!]!) < Math.abs(errors[peaks[peaks.length - 1]!]!)) peaks.shift();
    else peaks.pop();
  }
  if (peaks.length < count) throw new Error(`half-band filter: expected ${count} extrema, found ${peaks.length}`);
  return Float64Array.from(peaks, (i) => {
    if (i === 0 || i === grid.length - 1) return grid[i]!;
    const before = grid[i]! - grid[i - 1]!;
    const after = grid[i + 1]! - grid[i]!;
    const slopeBefore = (errors[i]! - errors[i - 1]!) / before;
    const slopeAfter = (errors[i + 1]! - errors[i]!) / after;
    const bend = slopeAfter - slopeBefore;
    if (bend === 0) return grid[i]!;
    const shift = -(slopeBefore * after + slopeAfter * before) / (2 * bend);
    return grid[i]! + Math.max(-0.5 * before, Math.min(0.5 * after, shift));
  });
}

/** h[2m + 1 ± (2k + 1)] = g_k / 4. */
function toHalfBand(solved: Float64Array, m: number, largest: number): HalfBandFir {
  const sideTaps = new Float64Array(m + 1);
  for (let k = 0; k <= m; k++) sideTaps[m - k] = solved[k]! / 4;
  return { sideTaps, rippleRatio: largest / 2 };
}

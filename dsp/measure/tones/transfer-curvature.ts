/** How bent a transfer curve is, most of all in its middle. */
import { cos } from '../../math/index.ts';

export interface CurvatureFigure {
  /** √∫ cos²(πx/2) T″(x)² dx, as first published. */
  readonly root: number;
  /** The integral itself, which its author later preferred. */
  readonly square: number;
}

/** Parts of the interval in Simpson's rule; a polynomial of order 20 under the weight is exact to 1e-10. */
const parts = 2048;
/** Of the mean gain: with less slope than this the curve has none. */
const leastSlope = 1e-3;
/** Over the fundamental: weaker harmonics are rounding, and the weight of their order would make something of it. −160 dB. */
const floorRatio = 1e-8;

/**
 * E. R. Geddes, L. W. Lee, "Auditory perception of nonlinear distortion", 2003 (the formula from memory): the transfer curve T over the input −1 … 1, of unit slope in its middle. The curve is put together from the harmonics
 * of a cosine of peak 1 by Chebyshev's polynomials, for T_n(cos t) = cos n t: of a device with memory that is the part in phase. Null where the curve has no slope in its middle (a dead zone).
 */
export function curvatureOf(harmonics: readonly { readonly order: number; readonly signedRatio: number }[]): CurvatureFigure | null {
  const heard = harmonics.filter(({ signedRatio }) => Math.abs(signedRatio) >= floorRatio);
  // T_n′(0) = n for n = 1, 5, 9 …, −n for n = 3, 7 …, 0 for even n.
  const slope = heard.reduce((sum, { order, signedRatio }) => sum + (order % 2 === 0 ? 0 : (order % 4 === 1 ? order : -order) * signedRatio), 1);
  if (!(Math.abs(slope) > leastSlope)) return null;
  const highest = heard.reduce((most, { order }) => Math.max(most, order), 1);
  const amplitudes = new Float64Array(highest + 1);
  for (const { order, signedRatio } of heard) amplitudes[order] = signedRatio / slope;
  let sum = 0;
  for (let k = 0; k <= parts; k += 1) {
    const x = (2 * k) / parts - 1;
    const bend = secondDerivative(amplitudes, x);
    const weight = k === 0 || k === parts ? 1 : k % 2 === 1 ? 4 : 2;
    const middling = cos((Math.PI / 2) * x);
    sum += weight * middling * middling * bend * bend;
  }
  const square = (sum * 2) / parts / 3;
  return { root: Math.sqrt(square), square };
}

/** Σ a_n T_n″(x): T_n = 2x T_(n−1) − T_(n−2), twice derived. */
function secondDerivative(amplitudes: Float64Array, x: number): number {
  let [before, here] = [1, x];
  let [slopeBefore, slopeHere] = [0, 1];
  let [bendBefore, bendHere] = [0, 0];
  let sum = 0;
  for (let n = 2; n < amplitudes.length; n += 1) {
    [bendBefore, bendHere] = [bendHere, 4 * slopeHere + 2 * x * bendHere - bendBefore];
    [slopeBefore, slopeHere] = [slopeHere, 2 * here + 2 * x * slopeHere - slopeBefore];
    [before, here] = [here, 2 * x * here - before];
    sum += amplitudes[n]! * bendHere;
  }
  return sum;
}

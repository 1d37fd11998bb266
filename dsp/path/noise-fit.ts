/**
 * From a density of noise to sections that give it: least squares on the logarithm of the density, one second-order section after another (Levenberg–Marquardt; K. Levenberg 1944,
 * D. W. Marquardt 1963). Off the audio thread.
 *
 * A section is (1 + 2ζz s/wz + s²/wz²) / (1 + 2ζp s/wp + s²/wp²) with s taken to the samples by the bilinear transform, and is fitted on that transform's own axis Ω = tan(π f / rate): what is fitted
 * is what runs. Damping stays above 0, so every section is stable and of minimum phase.
 */
import { noiseFrequencies } from '../circuit/index.ts';
import { exp, log, luFactor, luSolve, sin, cos } from '../math/index.ts';
import type { NoiseShape } from './noise-shape.ts';

export const mostNoiseSections = 3;
/** A fit within this needs no further section, dB. */
const goodEnoughDb = 0.1;
const decibelsPerNeperOfPower = 10 / log(10);
/** What is audible counts; the rest only leads it out of the band. */
const audibleHz: readonly [number, number] = [20, 20_000];
const outsideWeight = 0.1;
const mostIterations = 30;
/** Of the damping ratio's logarithm, and how far beyond the fitted axis a corner may lie, in nepers. */
const dampingBounds: readonly [number, number] = [log(0.02), log(30)];
const cornerReach = 3;
/** Corners a new section is tried at besides that of the largest error. */
const triedHz = [40, 400, 4000, 15_000];

/** Parameters: ln of the power gain, then for each section ln wz, ln ζz, ln wp, ln ζp. */
type Parameters = Float64Array;

interface Axis {
  readonly omega: Float64Array;
  /** ln of the wanted power. */
  readonly wanted: Float64Array;
  readonly weights: Float64Array;
  readonly audible: readonly boolean[];
  readonly cornerBounds: readonly [number, number];
}

interface Fit {
  readonly parameters: Parameters;
  readonly cost: number;
}

/** Where a density is to be looked at for its fit: the audible band with its ends, and a little to either side, below half of the base rate. */
export function fitFrequencies(rateHz: number): number[] {
  const top = Math.min(audibleHz[1], 0.48 * rateHz);
  return [5, 10, 14, ...noiseFrequencies(audibleHz[0], top, 12), ...(0.48 * rateHz > 1.03 * top ? [0.48 * rateHz] : [])];
}

/**
 * A shape for `density` (V²/Hz, one-sided, > 0) at frequencies `hz`, ascending, those from half of `rateHz` on left out; null where there is no noise. The largest error is told in the shape.
 */
export function fitNoiseShape(hz: readonly number[], density: ArrayLike<number>, rateHz: number): NoiseShape | null {
  const axis = axisOf(hz, density, rateHz);
  if (axis === null) return null;
  let best = refined(axis, Float64Array.of(mean(axis)));
  for (let sections = 1; sections <= mostNoiseSections && errorDb(axis, best.parameters) > goodEnoughDb; sections += 1) {
    const before = best;
    for (const start of starts(axis, before.parameters, rateHz)) {
      const fit = refined(axis, start);
      if (fit.cost < best.cost) best = fit;
    }
    if (best === before) break;
  }
  return shapeOf(best.parameters, errorDb(axis, best.parameters));
}

function axisOf(hz: readonly number[], density: ArrayLike<number>, rateHz: number): Axis | null {
  const used = hz.flatMap((f, k) => (f < 0.499 * rateHz && density[k]! > 0 ? [k] : []));
  if (used.length === 0) return null;
  const omega = Float64Array.from(used, (k) => sin((Math.PI * hz[k]!) / rateHz) / cos((Math.PI * hz[k]!) / rateHz));
  const audible = used.map((k) => hz[k]! >= audibleHz[0] && hz[k]! <= audibleHz[1]);
  return {
    omega, audible,
    // White noise of standard deviation 1 has the density 2/rate.
    wanted: Float64Array.from(used, (k) => log((density[k]! * rateHz) / 2)),
    weights: Float64Array.from(audible, (heard) => (heard ? 1 : outsideWeight)),
    cornerBounds: [log(omega[0]!) - cornerReach, log(omega.at(-1)!) + cornerReach],
  };
}

function mean({ wanted, weights }: Axis): number {
  let sum = 0;
  let total = 0;
  for (let k = 0; k < wanted.length; k += 1) {
    sum += weights[k]! * wanted[k]!;
    total += weights[k]!;
  }
  return sum / total;
}

/** One section more: a corner where the error is largest, or at one of the tried ones, its zeros apart from its poles towards the error. */
function starts(axis: Axis, parameters: Parameters, rateHz: number): Parameters[] {
  const model = modelOf(axis, parameters);
  let worst = 0;
  for (let k = 0; k < model.length; k += 1) {
    if (axis.audible[k]! && Math.abs(axis.wanted[k]! - model[k]!) > Math.abs(axis.wanted[worst]! - model[worst]!)) worst = k;
  }
  const lacking = axis.wanted[worst]! > model[worst]!;
  const corner = log(axis.omega[worst]!);
  const peaked = Float64Array.of(...parameters, corner, lacking ? 0.2 : -0.6, corner, lacking ? -0.6 : 0.2);
  const spread = triedHz.filter((f) => f < 0.45 * rateHz).flatMap((f) => {
    const at = log(sin((Math.PI * f) / rateHz) / cos((Math.PI * f) / rateHz));
    return [0.4, -0.4].map((apart) => Float64Array.of(...parameters, at + apart, 0.5, at - apart, 0.5));
  });
  return [peaked, ...spread];
}

/** ln of (1 − x²)² + 4ζ²x², x = Ω/w. */
function logSquare(omega: number, logCorner: number, logDamping: number): number {
  const x2 = omega * omega * exp(-2 * logCorner);
  const across = 1 - x2;
  return log(across * across + 4 * exp(2 * logDamping) * x2);
}

function modelOf({ omega }: Axis, parameters: Parameters): Float64Array {
  return omega.map((at) => {
    let sum = parameters[0]!;
    for (let p = 1; p < parameters.length; p += 4) sum += logSquare(at, parameters[p]!, parameters[p + 1]!) - logSquare(at, parameters[p + 2]!, parameters[p + 3]!);
    return sum;
  });
}

function costOf(axis: Axis, parameters: Parameters): number {
  return modelOf(axis, parameters).reduce((sum, value, k) => sum + axis.weights[k]! * (value - axis.wanted[k]!) * (value - axis.wanted[k]!), 0);
}

function errorDb(axis: Axis, parameters: Parameters): number {
  const heard = axis.audible.includes(true);
  return modelOf(axis, parameters).reduce((worst, value, k) => (axis.audible[k]! || !heard ? Math.max(worst, Math.abs(value - axis.wanted[k]!)) : worst), 0) * decibelsPerNeperOfPower;
}

function refined(axis: Axis, start: Parameters): Fit {
  const count = start.length;
  let parameters = start;
  let cost = costOf(axis, parameters);
  let damping = 1e-2;
  const pivots = new Int32Array(count);
  for (let iteration = 0; iteration < mostIterations && damping < 1e8; iteration += 1) {
    const { normal, gradient } = normalEquations(axis, parameters);
    const matrix = normal.slice();
    for (let p = 0; p < count; p += 1) matrix[p * count + p] = normal[p * count + p]! * (1 + damping) + 1e-9;
    if (!luFactor(matrix, count, pivots)) return { parameters, cost };
    luSolve(matrix, count, pivots, gradient);
    const next = bounded(axis, parameters.map((value, p) => value + gradient[p]!));
    const nextCost = costOf(axis, next);
    if (nextCost < cost) {
      const gained = cost - nextCost;
      parameters = next;
      cost = nextCost;
      damping /= 5;
      if (gained < 1e-5 * cost) break;
    } else {
      damping *= 6;
    }
  }
  return { parameters, cost };
}

function bounded({ cornerBounds }: Axis, parameters: Parameters): Parameters {
  return parameters.map((value, p) => {
    if (p === 0) return value;
    const [least, most] = p % 2 === 1 ? cornerBounds : dampingBounds;
    return Math.min(most, Math.max(least, value));
  });
}

/** Jᵀ W J and Jᵀ W (wanted − model). */
function normalEquations(axis: Axis, parameters: Parameters): { normal: Float64Array; gradient: Float64Array } {
  const count = parameters.length;
  const normal = new Float64Array(count * count);
  const gradient = new Float64Array(count);
  const slopes = new Float64Array(count);
  const model = modelOf(axis, parameters);
  for (let k = 0; k < model.length; k += 1) {
    slopes[0] = 1;
    for (let p = 1; p < count; p += 2) {
      const x2 = axis.omega[k]! * axis.omega[k]! * exp(-2 * parameters[p]!);
      const fourSquares = 4 * exp(2 * parameters[p + 1]!);
      const square = (1 - x2) * (1 - x2) + fourSquares * x2;
      const sign = p % 4 === 1 ? 1 : -1;
      slopes[p] = (sign * (4 * x2 * (1 - x2) - 2 * fourSquares * x2)) / square;
      slopes[p + 1] = (sign * 2 * fourSquares * x2) / square;
    }
    const weight = axis.weights[k]!;
    const miss = axis.wanted[k]! - model[k]!;
    for (let row = 0; row < count; row += 1) {
      const weighted = weight * slopes[row]!;
      gradient[row] = gradient[row]! + weighted * miss;
      for (let column = 0; column < count; column += 1) normal[row * count + column] = normal[row * count + column]! + weighted * slopes[column]!;
    }
  }
  return { normal, gradient };
}

function shapeOf(parameters: Parameters, worstDb: number): NoiseShape {
  const sectionCount = (parameters.length - 1) / 4;
  const sections = new Float64Array(5 * sectionCount);
  for (let k = 0; k < sectionCount; k += 1) {
    const [wz, dz, wp, dp] = [1, 2, 3, 4].map((p) => exp(parameters[4 * k + p]!)) as [number, number, number, number];
    const [b0, b1, b2] = bilinear(wz, dz);
    const [a0, a1, a2] = bilinear(wp, dp);
    sections.set([b0 / a0, b1 / a0, b2 / a0, a1 / a0, a2 / a0], 5 * k);
  }
  return { gain: exp(0.5 * parameters[0]!), sectionCount, sections, errorDb: worstDb };
}

/** 1 + 2ζ s/w + s²/w² with s = (1 − q)/(1 + q), times (1 + q)²; q delays by a sample. */
function bilinear(corner: number, damping: number): [number, number, number] {
  const first = (2 * damping) / corner;
  const second = 1 / (corner * corner);
  return [1 + first + second, 2 - 2 * second, 1 - first + second];
}
